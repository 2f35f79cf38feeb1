using System.Globalization;
using System.Security.Cryptography;
using System.Security.Cryptography.X509Certificates;
using System.Text.RegularExpressions;
using Incubation.Records.Log;
using Incubation.TestKit;

namespace Incubation.Browser.Tests;

/// <summary>
/// A clinic's own server from an empty folder: first on this machine alone, then by TLS; backed up and restored by the
/// command line.
/// </summary>
internal sealed partial class NewClinic : IAsyncDisposable
{
    private readonly string folder = Directory.CreateTempSubdirectory("incubation-clinic-").FullName;
    private readonly int port = ProgramProcess.FreePort();
    private ProgramProcess? server;

    public string DataFile => Path.Combine(folder, "data", "incubation.db");

    public string Backups => Path.Combine(folder, "backups");

    /// <summary>Where it answers, on this machine in the clear or by TLS.</summary>
    public Uri Address { get; private set; } = new("http://127.0.0.1/");

    /// <summary>The code that the console shows at the first start.</summary>
    public string SetUpCode => Code().Match(server!.Output).Value;

    /// <param name="cancel">Ends the wait.</param>
    /// <param name="options">Further options of the command line.</param>
    public Task StartOnThisMachineAsync(CancellationToken cancel, params string[] options) =>
        StartAsync("http", "127.0.0.1", options, [], cancel);

    /// <summary>Starts for other machines too, with a certificate of its own.</summary>
    public Task StartByTlsAsync(CancellationToken cancel) => StartAsync(
        "https", "0.0.0.0", [], [("Incubation__Certificate", WriteCertificate()), ("AllowedHosts", "localhost")],
            cancel);

    public async Task StopAsync(CancellationToken cancel)
    {
        server!.Terminate();
        await server.Process.WaitForExitAsync(cancel).WaitAsync(Patience.Usual, cancel);
    }

    /// <summary>Runs a command of the command line to its end; throws with what it printed where it fails.</summary>
    public static async Task<string> RunAsync(CancellationToken cancel, params string[] arguments)
    {
        using var command = new ProgramProcess(Repository.CliDll, arguments);
        await command.Process.WaitForExitAsync(cancel).WaitAsync(Patience.Usual, cancel);
        return command.Process.ExitCode == 0 ? command.Output : throw new InvalidOperationException(command.Output);
    }

    /// <summary>Everything that the server kept is gone.</summary>
    public void Destroy()
    {
        // As the page about running it says: a copy of the key lies apart, in no backup.
        File.Copy(SigningKey.PathBeside(DataFile), Path.Combine(folder, SigningKey.FileName));
        Directory.Delete(Path.GetDirectoryName(DataFile)!, recursive: true);
    }

    /// <summary>Puts the record's key back from where its copy lies.</summary>
    public void PutKeyBack()
    {
        Directory.CreateDirectory(Path.GetDirectoryName(DataFile)!);
        File.Copy(Path.Combine(folder, SigningKey.FileName), SigningKey.PathBeside(DataFile));
    }

    public ValueTask DisposeAsync()
    {
        server?.Dispose();
        Directory.Delete(folder, recursive: true);
        return ValueTask.CompletedTask;
    }

    private async Task StartAsync(string scheme, string binding, string[] options,
        (string Name, string Value)[] variables, CancellationToken cancel)
    {
        server?.Dispose();
        Address =
            new Uri(string.Create(CultureInfo.InvariantCulture,
                $"{scheme}://{(scheme == "https" ? "localhost" : binding)}:{port}/"));
        server = new ProgramProcess(
            Repository.ServerDll,
                ["--data", DataFile, "--urls",
                    string.Create(CultureInfo.InvariantCulture, $"{scheme}://{binding}:{port}"), .. options],
            start =>
            {
                foreach (var (name, value) in variables)
                    start.Environment[name] = value;
            });
        using var handler =
            new HttpClientHandler
            {
                ServerCertificateCustomValidationCallback =
                HttpClientHandler.DangerousAcceptAnyServerCertificateValidator
            };
        using var client = new HttpClient(handler) { BaseAddress = Address };
        await server.UntilAnsweredAsync<bool>(
            async limit => (await client.GetAsync(new Uri("health/live", UriKind.Relative), limit)).IsSuccessStatusCode
                ? true : null, Patience.Usual, cancel);
    }

    private string WriteCertificate()
    {
        using var key = ECDsa.Create(ECCurve.NamedCurves.nistP256);
        var names = new SubjectAlternativeNameBuilder();
        names.AddDnsName("localhost");
        var request = new CertificateRequest("CN=localhost", key, HashAlgorithmName.SHA256);
        request.CertificateExtensions.Add(names.Build());
        using var certificate = request.CreateSelfSigned(DateTimeOffset.UtcNow.AddDays(-1),
            DateTimeOffset.UtcNow.AddDays(1));
        var path = Path.Combine(folder, "server.pem");
        File.WriteAllText(path, certificate.ExportCertificatePem() + "\n" + key.ExportPkcs8PrivateKeyPem() + "\n");
        return path;
    }

    [GeneratedRegex("[A-Z0-9]{4}-[A-Z0-9]{4}-[A-Z0-9]{4}")]
    private static partial Regex Code();
}
