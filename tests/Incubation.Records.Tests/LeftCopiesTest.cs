using Incubation.Clinic;
using Incubation.Records.Backup;
using Incubation.Records.Clinic;
using NodaTime;
using Xunit;

namespace Incubation.Records.Tests;

/// <summary>Copies that upgrades and restores leave: listed, aged, and erased; never the only one.</summary>
public sealed class LeftCopiesTest : IDisposable
{
    private static readonly Instant Later = OldClinic.Now + Duration.FromDays(400);

    private readonly TempFolder folder = new();

    public LeftCopiesTest()
    {
        using var file = DataFile.Open(folder.DataFile);
        _ = new OldClinic(file);
    }

    public void Dispose() => folder.Dispose();

    [Fact]
    public void Of_WhatWasLeft_NamesEachWithItsCauseAndNothingElse()
    {
        Leave("clinic.before-20261126000727_CartridgeTimes.db", 10);
        Leave("clinic.replaced-20260101T000000Z.db", 91);
        Leave("clinic.db.part", 2);
        Leave("clinic-20260101T000000Z.db.part", 2);
        Leave("clinic-2.db.part", 400);
        Leave("clinic-20260101T000000Z.db", 400);
        Leave("clinic2.before-1.db", 400);

        var copies = LeftCopies.Of(folder.DataFile, Later);

        Assert.Equal(
            [
                ("clinic.replaced-20260101T000000Z.db", CopyCause.Replaced, CopyFate.Due),
                ("clinic.before-20261126000727_CartridgeTimes.db", CopyCause.BeforeUpgrade, CopyFate.Young),
                ("clinic-20260101T000000Z.db.part", CopyCause.CutShort, CopyFate.Due),
                ("clinic.db.part", CopyCause.CutShort, CopyFate.Due),
            ],
            copies.Select(copy => (copy.Name, copy.Cause, copy.Fate)));
        Assert.All(copies, copy => Assert.Equal(new FileInfo(folder.DataFile).Length, copy.Bytes));
        Assert.Equal(Later - Duration.FromDays(91), copies[0].Made);
    }

    [Fact]
    public void EraseDue_OldAndYoung_TheOldGoAndTheRecordNamesThem()
    {
        var old = Leave("clinic.replaced-20260101T000000Z.db", 90);
        File.WriteAllText(old + "-wal", "");
        var young = Leave("clinic.before-1.db", 89);
        using var file = DataFile.Open(folder.DataFile);
        var clinic = ClinicLog.Open(file);

        Assert.Equal(old, Assert.Single(LeftCopies.EraseDue(file, clinic, At(Later))).Path);

        Assert.False(File.Exists(old) || File.Exists(old + "-wal"));
        Assert.True(File.Exists(young));
        var erased = Assert.IsType<ClinicEvent.CopiesErased>(clinic.Entries().Last().Event);
        Assert.Equal(["clinic.replaced-20260101T000000Z.db"], erased.Files);
        Assert.Equal(90, erased.Days);
        var revision = clinic.Revision;
        Assert.Empty(LeftCopies.EraseDue(file, clinic, At(Later)));
        Assert.Equal(revision, clinic.Revision);
    }

    /// <summary>A backup that was older than what it replaced: the copy alone knows what was recorded since.</summary>
    [Fact]
    public void EraseDue_CopyHoldsEventsThatTheFileLacks_Stays()
    {
        DataBackup.Make(folder.DataFile, folder.At("backup.db"));
        using (var file = DataFile.Open(folder.DataFile))
            ClinicLog.Open(file).Record(new ClinicEvent.RetentionSet(36), Rows.Provenance(990));
        var kept = DataRestore.Run(folder.At("backup.db"), folder.DataFile, force: true, OldClinic.Now).Kept!;
        var damaged = folder.At("clinic.before-1.db");
        File.WriteAllText(damaged, "no data file");
        foreach (var copy in new[] { kept, damaged })
            File.SetLastWriteTimeUtc(copy, OldClinic.Now.ToDateTimeUtc());
        using var restored = DataFile.Open(folder.DataFile);

        Assert.Empty(LeftCopies.EraseDue(restored, ClinicLog.Open(restored), At(Later)));

        Assert.True(File.Exists(kept) && File.Exists(damaged));
        Assert.All(LeftCopies.Of(folder.DataFile, Later), copy => Assert.Equal(CopyFate.MayBeOnly, copy.Fate));
    }

    [Fact]
    public void EraseDue_TheFileItselfIsBroken_NothingGoes()
    {
        var old = Leave("clinic.replaced-20260101T000000Z.db", 200);
        RawFile.Tamper(folder.DataFile, "UPDATE EventHeaders SET Person = 'x' WHERE Stream LIKE 'bench/%' "
            + "AND Sequence = 2");
        using var file = DataFile.Open(folder.DataFile);
        Assert.Empty(LeftCopies.EraseDue(file, ClinicLog.Open(file), At(Later)));
        Assert.True(File.Exists(old));
    }

    private static Incubation.Bench.Provenance At(Instant at) => Rows.Provenance(991) with { Arrived = at, At = at };

    private string Leave(string name, int days)
    {
        var path = folder.At(name);
        File.Copy(folder.DataFile, path);
        File.SetLastWriteTimeUtc(path, (Later - Duration.FromDays(days)).ToDateTimeUtc());
        return path;
    }
}
