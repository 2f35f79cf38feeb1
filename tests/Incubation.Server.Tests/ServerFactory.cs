using Microsoft.AspNetCore.Hosting;
using Microsoft.AspNetCore.Mvc.Testing;

namespace Incubation.Server.Tests;

/// <summary>The whole server in this process, on the demo's clinic and a data file of its own.</summary>
public sealed class ServerFactory : WebApplicationFactory<Program>
{
    private readonly string folder = Directory.CreateTempSubdirectory("incubation-server-").FullName;

    public static string DemoFolder { get; } = Path.Combine(Checkout(), "demo");

    public static string Checkout()
    {
        var at = new DirectoryInfo(AppContext.BaseDirectory);
        while (!File.Exists(Path.Combine(at.FullName, "Incubation.sln")))
            at = at.Parent ?? throw new InvalidOperationException("These tests run from inside a checkout.");
        return at.FullName;
    }

    protected override void ConfigureWebHost(IWebHostBuilder builder)
    {
        builder.UseSetting("Incubation:Data", Path.Combine(folder, "incubation.db"));
        builder.UseSetting("Incubation:Demo", DemoFolder);
        builder.UseSetting("Incubation:SearchBudget", "20");
    }

    protected override void Dispose(bool disposing)
    {
        base.Dispose(disposing);
        if (disposing && Directory.Exists(folder))
            Directory.Delete(folder, recursive: true);
    }
}
