global using Incubation.Service;
global using Xunit;
