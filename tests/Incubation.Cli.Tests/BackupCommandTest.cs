using Incubation.Bench;
using Incubation.Clinic;
using Incubation.Model;
using Incubation.Records;
using Incubation.Records.Clinic;
using Incubation.Records.Log;
using NodaTime;
using Xunit;

namespace Incubation.Cli.Tests;

/// <summary>`backup` and `restore` as a person types them.</summary>
public sealed class BackupCommandTest : IDisposable
{
    private readonly Bench bench = new();

    private string Data => bench.PathOf("incubation.db");

    public void Dispose() => bench.Dispose();

    [Fact]
    public void Backup_ServerRunning_SaysWhatTheCopyHolds()
    {
        using var file = MakeData("Invented clinic");
        var code = bench.Run("backup", Data, "--to", bench.PathOf("copy.db"));

        Assert.Equal((ExitCode.Done, ""), (code, bench.Error));
        var lines = bench.Output.Split('\n', StringSplitOptions.RemoveEmptyEntries);
        Assert.EndsWith("copy.db", lines[0], StringComparison.Ordinal);
        Assert.StartsWith("1 events, the last at 2026-03-02T08:00:00Z.", lines[1], StringComparison.Ordinal);
        Assert.Matches("^  clinic  1  [0-9a-f]{64}$", lines[2]);
    }

    [Fact]
    public void Backup_IntoAFolder_GetsANameWithItsTime()
    {
        MakeData("Invented clinic").Dispose();
        var folder = Directory.CreateDirectory(bench.PathOf("backups")).FullName;
        Assert.Equal(ExitCode.Done, bench.Run("backup", Data, "--to", folder));
        Assert.Matches("^incubation-[0-9]{8}T[0-9]{6}Z\\.db$",
            Path.GetFileName(Assert.Single(Directory.GetFiles(folder))));
    }

    [Fact]
    public void Backup_NoData_RefusedWithSentence()
    {
        Assert.Equal(ExitCode.NotUnderstood, bench.Run("backup", Data, "--to", bench.PathOf("copy.db")));
        Assert.Contains("no such file", bench.Error, StringComparison.Ordinal);
        Assert.Empty(bench.Files);
    }

    [Fact]
    public void Restore_DataDestroyed_EverythingIsThereAgain()
    {
        MakeData("Invented clinic").Dispose();
        bench.Run("backup", Data, "--to", bench.PathOf("copy.db"));
        File.Delete(Data);

        Assert.Equal(ExitCode.Done, bench.Run("restore", bench.PathOf("copy.db"), "--data", Data));
        using var file = DataFile.Open(Data);
        Assert.Equal("Invented clinic", new Catalogue(file, ClinicLog.Open(file)).Clinic()!.Name);
    }

    [Fact]
    public void Restore_AnotherClinic_OnlyWithForceAndKeepsWhatItReplaces()
    {
        MakeData("Invented clinic").Dispose();
        bench.Run("backup", Data, "--to", bench.PathOf("copy.db"));
        File.Delete(Data);
        MakeData("Another invented clinic").Dispose();

        Assert.Equal(ExitCode.NotUnderstood, bench.Run("restore", bench.PathOf("copy.db"), "--data", Data));
        Assert.Contains("--force", bench.Error, StringComparison.Ordinal);
        Assert.Equal(ExitCode.Done, bench.Run("restore", bench.PathOf("copy.db"), "--data", Data, "--force"));
        var kept = Assert.Single(bench.Files, name => name.Contains("replaced", StringComparison.Ordinal)
            && name.EndsWith(".db", StringComparison.Ordinal));
        using var old = DataFile.Open(bench.PathOf(kept));
        Assert.Equal("Another invented clinic", new Catalogue(old, ClinicLog.Open(old)).Clinic()!.Name);
    }

    [Fact]
    public void Restore_ServerRunning_RefusedWithSentence()
    {
        using var file = MakeData("Invented clinic");
        bench.Run("backup", Data, "--to", bench.PathOf("copy.db"));
        Assert.Equal(ExitCode.NotUnderstood, bench.Run("restore", bench.PathOf("copy.db"), "--data", Data, "--force"));
        Assert.Contains("Another running copy", bench.Error, StringComparison.Ordinal);
    }

    [Fact]
    public void BackupRestoreAndVerify_KeyMoved_FindItByTheServicesSettings()
    {
        MakeData("Invented clinic").Dispose();
        Directory.CreateDirectory(bench.PathOf("etc"));
        File.Move(bench.PathOf(SigningKey.FileName), bench.PathOf("etc/clinic.key"));
        var settings = bench.Write("incubation.json", $$"""
            {
              // As the service reads it.
              "Incubation": { "Data": "{{Data}}", "RecordKey": "{{bench.PathOf("etc/clinic.key")}}", },
            }
            """);
        string[] config = ["--config", settings];
        Assert.Equal((ExitCode.Done, ""), (bench.Run(["backup", Data, "--to", bench.PathOf("copy.db"), .. config]),
            bench.Error));
        Assert.Equal((ExitCode.Done, ""), (bench.Run(["verify-log", bench.PathOf("copy.db"), .. config]),
            bench.Error));
        File.Delete(Data);
        Assert.Equal((ExitCode.Done, ""), (bench.Run(["restore", bench.PathOf("copy.db"), "--data", Data, .. config]),
            bench.Error));
        Assert.StartsWith("Needed: the record's key ", bench.Output, StringComparison.Ordinal);
        Assert.Contains("etc/clinic.key", bench.Output, StringComparison.Ordinal);
        Assert.Equal((ExitCode.Done, ""), (bench.Run(["export", Data, "--to", bench.PathOf("c.csv"), .. config]),
            bench.Error));
    }

    [Fact]
    public void BackupAndRestore_KeyNowhere_SayLoudlyThatNothingWasChecked()
    {
        MakeData("Invented clinic").Dispose();
        File.Move(bench.PathOf(SigningKey.FileName), bench.PathOf("clinic.key"));
        Assert.Equal(ExitCode.NotChecked, bench.Run("backup", Data, "--to", bench.PathOf("copy.db")));
        Assert.StartsWith("SIGNATURES WERE NOT CHECKED", bench.Error, StringComparison.Ordinal);
        Assert.Equal(ExitCode.NotChecked, bench.Run("restore", bench.PathOf("copy.db"), "--data",
            bench.PathOf("new/other.db")));
        Assert.StartsWith("SIGNATURES WERE NOT CHECKED", bench.Error, StringComparison.Ordinal);
        Assert.Equal(ExitCode.Done, bench.Run("restore", bench.PathOf("copy.db"), "--data",
            bench.PathOf("checked/other.db"), "--key", bench.PathOf("clinic.key")));
        Assert.Equal(ExitCode.NotUnderstood, bench.Run("backup", Data, "--to", bench.PathOf("copy2.db"), "--key",
            bench.PathOf("none.key")));
        Assert.Contains("none.key: no such file", bench.Error, StringComparison.Ordinal);
    }

    [Fact]
    public void Backup_SettingsUnreadable_RefusedWithSentence()
    {
        MakeData("Invented clinic").Dispose();
        Assert.Equal(ExitCode.NotUnderstood, bench.Run("backup", Data, "--to", bench.PathOf("copy.db"), "--config",
            bench.Write("broken.json", "{")));
        Assert.Contains("broken.json cannot be read", bench.Error, StringComparison.Ordinal);
    }

    private DataFile MakeData(string name)
    {
        var file = DataFile.Open(Data);
        var at = Instant.FromUtc(2026, 3, 2, 8, 0);
        ClinicLog.Open(file).Record(
            new ClinicEvent.ClinicOpened(name, "UTC"),
                new Provenance(new ReportId("begin"), at, at, new PersonId("aide"), new DeviceId("tablet-1")));
        return file;
    }
}
