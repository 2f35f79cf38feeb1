using System.Diagnostics;
using System.Security.Cryptography;
using System.Security.Cryptography.X509Certificates;
using Incubation.Clinic.TestKit;
using Incubation.Records.Backup;
using Incubation.Records.Clinic;
using Xunit;

namespace Incubation.Records.Tests;

/// <summary>A backup that only the holder of a private key can read.</summary>
public sealed class EncryptedBackupTest : IDisposable
{
    private readonly TempFolder folder = new();

    public EncryptedBackupTest()
    {
        using (var file = DataFile.Open(folder.DataFile))
            ClinicLog.Open(file).Tell(ClinicStory.Commands);
        MakePair("backup");
    }

    private string Certificate => folder.At("backup.crt");

    private string Key => folder.At("backup.key");

    public void Dispose() => folder.Dispose();

    [Fact]
    public void Backup_ToACertificate_IsReadableWithItsKeyAlone()
    {
        var report = DataBackup.Make(folder.DataFile, folder.At("copy.db"), recipient: Certificate);
        Assert.Equal((folder.At("copy.db.cms"), SignatureCheck.Checked), (report.Path, report.Signatures));
        Assert.DoesNotContain("Invented clinic", File.ReadAllText(report.Path), StringComparison.Ordinal);
        Assert.DoesNotContain(Directory.GetFiles(Path.GetDirectoryName(folder.DataFile)!),
            path => path.Contains(".part", StringComparison.Ordinal));
        if (!OperatingSystem.IsWindows())
            Assert.Equal(UnixFileMode.UserRead | UnixFileMode.UserWrite, File.GetUnixFileMode(report.Path));

        var options = new RestoreOptions(PrivateKey: Key);
        var restored = DataRestore.Run(report.Path, folder.At("new.db"), force: false, Rows.Morning, options).Restored;
        Assert.Equal(report.Streams, restored.Streams);
        Assert.Equal(BackupProblem.PrivateKeyUnusable, Problem(() =>
            DataRestore.Run(report.Path, folder.At("other.db"), force: false, Rows.Morning)));
    }

    [Theory]
    [InlineData("other.key")]
    [InlineData("backup.crt")]
    [InlineData("none.key")]
    public void Restore_AnotherKey_IsRefusedAndLeavesNothing(string key)
    {
        MakePair("other");
        var copy = DataBackup.Make(folder.DataFile, folder.At("copy.db"), recipient: Certificate).Path;
        var options = new RestoreOptions(PrivateKey: folder.At(key));
        Assert.Equal(BackupProblem.PrivateKeyUnusable, Problem(() =>
            DataRestore.Run(copy, folder.At("new.db"), force: false, Rows.Morning, options)));
        Assert.DoesNotContain(Directory.GetFiles(Path.GetDirectoryName(folder.DataFile)!),
            path => path.EndsWith("new.db", StringComparison.Ordinal)
                || path.Contains(".part", StringComparison.Ordinal));
    }

    [Theory]
    [InlineData(20)]
    [InlineData(700)]
    [InlineData(20_000)]
    [InlineData(-30)]
    public void Restore_CopyChanged_IsRefusedOrHoldsTheWholeRecord(int at)
    {
        var made = DataBackup.Make(folder.DataFile, folder.At("copy.db"), recipient: Certificate);
        var copy = made.Path;
        var bytes = File.ReadAllBytes(copy);
        bytes[at < 0 ? bytes.Length + at : at] ^= 1;
        File.WriteAllBytes(copy, bytes);
        var options = new RestoreOptions(PrivateKey: Key);
        var fault = Record.Exception(() =>
            DataRestore.Run(copy, folder.At("new.db"), force: false, Rows.Morning, options));
        Assert.Equal(fault is null, File.Exists(folder.At("new.db")));
        // Encryption hides; what was changed in it shows in the record, if it was anything but a page's unused bytes.
        if (fault is null)
            Assert.Equal(made.Streams.Select(stream => stream.Head),
                RecordCheck.Run(folder.At("new.db")).Verdict.Streams.Select(stream => stream.Head));
        else
            Assert.True(fault is BackupException or DataFileException, fault.ToString());
    }

    [Fact]
    public void Restore_CopyCutShort_IsRefused()
    {
        var copy = DataBackup.Make(folder.DataFile, folder.At("copy.db"), recipient: Certificate).Path;
        File.WriteAllBytes(copy, File.ReadAllBytes(copy)[..^5000]);
        var options = new RestoreOptions(PrivateKey: Key);
        var fault = Record.Exception(() =>
            DataRestore.Run(copy, folder.At("new.db"), force: false, Rows.Morning, options));
        Assert.True(fault is BackupException or DataFileException, fault?.ToString());
        Assert.False(File.Exists(folder.At("new.db")));
    }

    [Fact]
    public void Backup_RecipientIsNoCertificate_IsRefusedBeforeAnythingIsWritten()
    {
        using (var curve = ECDsa.Create(ECCurve.NamedCurves.nistP256))
            File.WriteAllText(folder.At("curve.crt"), new CertificateRequest("CN=Backup", curve,
                HashAlgorithmName.SHA256).CreateSelfSigned(DateTimeOffset.UnixEpoch, DateTimeOffset.MaxValue)
                .ExportCertificatePem());
        File.WriteAllText(folder.At("text.crt"), "no certificate");
        foreach (var name in new[] { "curve.crt", "text.crt", "none.crt" })
            Assert.Equal(BackupProblem.RecipientUnusable, Problem(() =>
                DataBackup.Make(folder.DataFile, folder.At("copy.db"), recipient: folder.At(name))));
        Assert.DoesNotContain(Directory.GetFiles(Path.GetDirectoryName(folder.DataFile)!),
            path => path.Contains("copy", StringComparison.Ordinal));
    }

    [Fact]
    public void Backup_OpenedByAnotherProgram_IsTheDataFile()
    {
        var copy = DataBackup.Make(folder.DataFile, folder.At("copy.db"), recipient: Certificate).Path;
        var start = new ProcessStartInfo("openssl", ["cms", "-decrypt", "-binary", "-inform", "DER", "-in", copy,
            "-inkey", Key, "-out", folder.At("opened.db")])
        { RedirectStandardError = true };
        Process? openssl = null;
        try
        {
            openssl = Process.Start(start);
        }
        catch (System.ComponentModel.Win32Exception)
        {
            Assert.Skip("There is no openssl on this machine.");
        }

        using (openssl)
        {
            var said = openssl!.StandardError.ReadToEnd();
            openssl.WaitForExit();
            Assert.True(openssl.ExitCode == 0, said);
        }
        Assert.True(RecordCheck.Run(folder.At("opened.db")).IsWhole);
    }

    /// <summary>
    /// Run by hand with <c>DOTNET_GCHeapHardLimit=0x4000000</c>: whatever its length, a file goes through in 64 MB.
    /// </summary>
    [Fact(Explicit = true)]
    public void Encrypt_AGigabyte_NeedsLittleMemory()
    {
        var (plain, encrypted, opened) = (folder.At("plain"), folder.At("encrypted"), folder.At("opened"));
        using (var file = File.Create(plain))
            for (var block = 0; block < 1024; block++)
                file.Write(RandomNumberGenerator.GetBytes(1 << 20));
        EncryptedCopy.Encrypt(plain, encrypted, EncryptedCopy.Recipient(Certificate));
        EncryptedCopy.Decrypt(encrypted, opened, Key);
        using var before = File.OpenRead(plain);
        using var after = File.OpenRead(opened);
        Assert.Equal(SHA256.HashData(before), SHA256.HashData(after));
    }

    private static BackupProblem Problem(Action act) => Assert.Throws<BackupException>(act).Problem;

    private void MakePair(string name)
    {
        using var key = RSA.Create(2048);
        File.WriteAllText(folder.At(name + ".key"), key.ExportPkcs8PrivateKeyPem());
        File.WriteAllText(folder.At(name + ".crt"), new CertificateRequest("CN=Backup", key, HashAlgorithmName.SHA256,
            RSASignaturePadding.Pkcs1).CreateSelfSigned(DateTimeOffset.UnixEpoch, DateTimeOffset.MaxValue)
            .ExportCertificatePem());
    }
}
