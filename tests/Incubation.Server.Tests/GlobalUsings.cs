global using Incubation.Service;
global using ServiceWords = Incubation.Service.Words;
global using Xunit;
