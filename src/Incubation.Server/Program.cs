using Incubation.Server.Hosting;

return await ServerHost.RunAsync(args);

/// <summary>Named so that tests can host the server in their own process.</summary>
public partial class Program;
