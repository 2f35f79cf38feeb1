using Incubation.Clinic;
using Incubation.Clinic.TestKit;
using Incubation.Records.Backup;
using Incubation.Records.Benches;
using Incubation.Records.Clinic;
using Incubation.Records.Log;
using Xunit;

namespace Incubation.Records.Tests;

/// <summary>Where the record's key comes from, and what happens without it.</summary>
public sealed class SigningKeyTest : IDisposable
{
    private readonly TempFolder folder = new();

    private string Key => folder.At(SigningKey.FileName);

    public void Dispose() => folder.Dispose();

    [Fact]
    public void Open_FirstTime_MakesAKeyForItsOwnerAlone()
    {
        DataFile.Open(folder.DataFile).Dispose();
        Assert.Matches("^[0-9a-f]{64}\n$", File.ReadAllText(Key));
        if (!OperatingSystem.IsWindows())
            Assert.Equal(UnixFileMode.UserRead | UnixFileMode.UserWrite, File.GetUnixFileMode(Key));
        var made = File.ReadAllText(Key);
        DataFile.Open(folder.DataFile).Dispose();
        Assert.Equal(made, File.ReadAllText(Key));
    }

    [Fact]
    public void Open_PathSet_KeyLiesThere()
    {
        var elsewhere = folder.At("apart/clinic.key");
        DataFile.Open(folder.DataFile, new DataFileOptions(KeyFile: elsewhere)).Dispose();
        Assert.True(File.Exists(elsewhere));
        Assert.False(File.Exists(Key));
    }

    [Fact]
    public void Open_KeyGone_IsRefusedWithSentence()
    {
        DataFile.Open(folder.DataFile).Dispose();
        File.Delete(Key);
        var refused = Assert.Throws<DataFileException>(() => DataFile.Open(folder.DataFile));
        Assert.Equal(DataFileProblem.KeyMissing, refused.Problem);
        Assert.Contains(Key, refused.Message, StringComparison.Ordinal);
        Assert.Contains("new-key", refused.Message, StringComparison.Ordinal);
        Assert.False(File.Exists(Key));
    }

    [Fact]
    public void Open_AnotherKey_IsRefused()
    {
        DataFile.Open(folder.DataFile).Dispose();
        File.WriteAllText(Key, new string('a', 64));
        Assert.Equal(DataFileProblem.KeyMissing,
            Assert.Throws<DataFileException>(() => DataFile.Open(folder.DataFile)).Problem);
        Assert.Equal(DataFileProblem.KeyMissing,
            Assert.Throws<DataFileException>(() => RecordCheck.Run(folder.DataFile)).Problem);
    }

    [Theory]
    [InlineData("")]
    [InlineData("a key")]
    [InlineData("gggggggggggggggggggggggggggggggggggggggggggggggggggggggggggggggg")]
    public void Open_FileHoldsNoKey_IsRefused(string content)
    {
        File.WriteAllText(Key, content);
        Assert.Equal(DataFileProblem.KeyUnreadable,
            Assert.Throws<DataFileException>(() => DataFile.Open(folder.DataFile)).Problem);
    }

    [Fact]
    public void Renew_KeyLost_EverythingIsSignedAnewAndThatIsRecorded()
    {
        using (var file = DataFile.Open(folder.DataFile))
        {
            ClinicLog.Open(file).Tell(ClinicStory.Commands);
            new BenchStreams(file).Append(Rows.Bench, 0, Rows.BenchEntries(1, 9));
        }
        var lost = SigningKey.Find(Key)!.Name;
        File.Delete(Key);

        Assert.Equal(new RenewedKey(Key, 0), RecordKey.Renew(folder.DataFile, null, Rows.Morning));

        var report = RecordCheck.Run(folder.DataFile);
        Assert.True(report.IsWhole);
        Assert.NotEqual(lost, report.Key);
        using var again = DataFile.Open(folder.DataFile);
        var renewed = Assert.IsType<ClinicEvent.RecordKeyRenewed>(ClinicLog.Open(again).Entries().Last().Event);
        Assert.Equal((lost, report.Key), (renewed.Lost, renewed.Now));
    }

    [Fact]
    public void Renew_KeyThere_IsRefused()
    {
        DataFile.Open(folder.DataFile).Dispose();
        Assert.Equal(BackupProblem.TargetExists,
            Assert.Throws<BackupException>(() => RecordKey.Renew(folder.DataFile, null, Rows.Morning)).Problem);
    }

    [Fact]
    public void Renew_RecordBroken_NothingIsSigned()
    {
        using (var file = DataFile.Open(folder.DataFile))
            new BenchStreams(file).Append(Rows.Bench, 0, Rows.BenchEntries(1, 9));
        RawFile.Tamper(folder.DataFile, "UPDATE EventHeaders SET Person = 'somebody else' WHERE Sequence = 3");
        File.Delete(Key);
        Assert.Equal(BackupProblem.Broken,
            Assert.Throws<BackupException>(() => RecordKey.Renew(folder.DataFile, null, Rows.Morning)).Problem);
        Assert.False(File.Exists(Key));
    }
}
