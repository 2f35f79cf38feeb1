using System.Globalization;
using System.Text;
using Incubation.Clinic;
using Incubation.Clinic.People;
using Incubation.Model;
using Incubation.Records.Backup;
using Incubation.Records.Batches;
using Incubation.Records.Benches;
using Incubation.Records.Clinic;
using Incubation.Records.Export;
using Incubation.Records.Log;
using Incubation.Records.People;
using Incubation.Records.Reports;
using Incubation.Records.Retention;
using Incubation.Records.Stock;
using Incubation.TestKit;
using Microsoft.Data.Sqlite;
using NodaTime;
using Xunit;

namespace Incubation.Records.Tests;

/// <summary>
/// Whatever single thing somebody without the key changes anywhere in a data file: a check of the record finds it and
/// says what, or it is harmless, because the program makes that part anew or never reads it; then every export, state
/// and answer is the same as before. A hundred changes at every run, two thousand where
/// <c>INCUBATION_CASES=long</c> stands in the environment.
/// </summary>
public sealed class RandomEditTest(ITestOutputHelper output) : IDisposable
{
    private const string Key = "record.key";

    /// <summary>
    /// What may be changed without being found, and why that does no harm. Nothing else may: a change that is neither
    /// found nor named here fails the test, whatever it does.
    /// </summary>
    private static readonly (string What, string Why)[] Harmless =
    [
        ("user_version", "counts proofs that the file can be written; nothing else reads it"),
        ("__EFMigrationsHistory.ProductVersion", "says which library made a migration; nothing reads it"),
        ("Projections", "a table that seems to be another version's is made anew before it is used"),
        ("Snapshots", "a snapshot whose seal or build does not fit is not used: everything is replayed"),
        ("Sessions row", "a sign-in that is gone is one that ended: its owner signs in again"),
        ("Secrets row", "a secret that is gone opens nothing: its owner sets another"),
        ("bytes", "a byte of the file that belongs to no row, or of a form that the engine takes for the same"),
    ];

    private readonly TempFolder folder = new();

    public void Dispose() => folder.Dispose();

    [Fact]
    public void Run_AnythingChangedAnywhere_IsFoundOrHarmless()
    {
        MakeBase();
        Assert.True(RecordCheck.Run(folder.DataFile).IsWhole,
            string.Join('\n', RecordCheck.Run(folder.DataFile).Tables.Differences.Select(one => one.Message)));
        var answers = Answers(folder.DataFile);
        var seed = int.Parse(Environment.GetEnvironmentVariable("INCUBATION_SEED") ?? "1",
            CultureInfo.InvariantCulture);
        var outcomes = new SortedDictionary<string, int>(StringComparer.Ordinal);
        var faults = new List<string>();
        for (var number = 0; number < CaseCount.Of(100, 2000); number++)
        {
            var copy = Copy(number);
            var edit = RandomEdit.Make(copy, new Random((seed * 100_003) + number));
            var outcome = Found(copy) is { } by ? "found: " + by
                : Harmless.FirstOrDefault(one => edit.What.StartsWith(one.What, StringComparison.Ordinal)) is
                { Why: { } why } && Same(Answers(copy), answers, edit) ? "harmless: " + why : null;
            if (outcome is null)
                faults.Add($"{number}: {edit.What}: {edit.How}");
            outcomes[outcome ?? "fault"] = outcomes.GetValueOrDefault(outcome ?? "fault") + 1;
            File.Delete(copy);
        }

        foreach (var (outcome, count) in outcomes)
            output.WriteLine($"{count,5}  {outcome}");
        Assert.True(faults.Count == 0, string.Join('\n', faults));
    }

    /// <summary>By what the check finds a change; null where it says that the file is whole.</summary>
    private static string? Found(string path)
    {
        try
        {
            var report = RecordCheck.Run(path);
            return report.IsWhole && report.Tables.NotReplayed.Count == 0 ? null
                : report.Verdict.Faults.FirstOrDefault() is { } fault ? fault.Difference.ToString()
                : report.Tables.NotReplayed.Count > 0 ? "not replayed"
                : "comparison with a replay: " + report.Tables.Tables[0];
        }
        catch (Exception e) when (e is DataFileException or LogBrokenException or UnreadableEventException)
        {
            return e is DataFileException { Problem: var problem } ? problem.ToString() : e.GetType().Name;
        }
    }

    /// <summary>
    /// What is gone is gone: the answers may lack it, and must be the same for the rest.
    /// </summary>
    private static bool Same(string now, string before, RandomEdit edit) => now == before
        || (edit.What is "Sessions row" or "Secrets row"
            && now.Split('\n').Except(before.Split('\n')).All(line => line.Length == 0));

    private string Copy(int number)
    {
        var copy = folder.At(string.Create(CultureInfo.InvariantCulture, $"copy-{number}.db"));
        File.Copy(folder.DataFile, copy, overwrite: true);
        return copy;
    }

    /// <summary>Everything that a server or an export would say of a file.</summary>
    private string Answers(string path)
    {
        var copy = folder.At("asked.db");
        File.Copy(path, copy, overwrite: true);
        var text = new StringBuilder();
        using (var file = DataFile.Open(copy, new DataFileOptions(KeyFile: folder.At(Key))))
        {
            file.Log.RefuseCut();
            var clinic = ClinicLog.Open(file);
            var book = new CartridgeProjection(file, clinic.Amended);
            var catalogue = new Catalogue(file, clinic);
            foreach (var form in Enum.GetValues<ExportForm>())
                text.AppendJoin("", RecordExport.Lines(file, book, clinic.Controls, form, DateTimeZone.Utc));
            text.AppendJoin('\n', catalogue.Assays().Select(Any.WriteOut)).AppendLine();
            text.AppendJoin('\n', catalogue.Lots()).AppendLine().AppendJoin('\n', catalogue.Benches()).AppendLine();
            text.AppendJoin('\n', catalogue.Requests(Rows.Bench).Select(Any.WriteOut)).AppendLine();
            foreach (var lot in catalogue.Lots())
                text.AppendLine(string.Create(CultureInfo.InvariantCulture,
                    $"{lot.Lot} {new CartridgeUse(file).Of(lot.Lot, null)}"));
            foreach (var order in Enum.GetValues<CartridgeOrder>())
                text.AppendJoin('\n', book.Find(new CartridgeQuery("SP-B", Order: order, Most: 100)).Cartridges
                    .Select(Any.WriteOut)).AppendLine();
            var times = new ReportProjection(file, book);
            var scope = new ReportScope(Instant.FromUtc(2000, 1, 1, 0, 0), Instant.FromUtc(2100, 1, 1, 0, 0));
            text.AppendJoin('\n', times.Cartridges(scope).Select(Any.WriteOut).Order(StringComparer.Ordinal))
                .AppendJoin('\n', times.Batches(scope).Select(Any.WriteOut)).AppendLine();
            text.AppendLine(Any.WriteOut(new RecordRetention(file, clinic, book).Preview(OldClinic.Now)));
            text.AppendLine(Any.WriteOut(new BenchSnapshots(file).Load(Rows.Bench, out _)!));
            text.AppendLine(Any.WriteOut(book.Batch(Rows.Bench, 3)!.Cartridges));
            var people = new PeopleStore(file, clinic);
            foreach (var kind in Enum.GetValues<SecretKind>())
                foreach (var owner in new[] { "mara", "lena" })
                    text.AppendLine(people.Find(owner, kind)?.ToString());
            text.AppendJoin('\n', people.Sessions()).AppendLine();
        }

        Clean(copy);
        return text.ToString();
    }

    private static void Clean(string path)
    {
        foreach (var ending in new[] { "", "-wal", "-shm", ".lock" })
            File.Delete(path + ending);
    }

    /// <summary>A small clinic with something in every table.</summary>
    private void MakeBase()
    {
        using (var file = DataFile.Open(folder.DataFile))
        {
            _ = new OldClinic(file);
            var clinic = ClinicLog.Open(file);
            var book = new CartridgeProjection(file, clinic.Amended);
            var line = new RecordRetention(file, clinic, book).Preview(OldClinic.Days[1] + Duration.FromDays(731))
                .Benches.Single();
            Assert.IsType<ClinicOutcome.Recorded>(
                OldClinic.Erase(file, clinic, OldClinic.Days[1] + Duration.FromDays(731), line));
            var people = new PeopleStore(file, clinic);
            var (mara, lena) = (PersonId.Of("mara"), PersonId.Of("lena"));
            people.Record([new ClinicEvent.PersonAdded(mara, "Mara", Role.Administrator),
                new ClinicEvent.SecretSet(mara, SecretKind.Password)], Rows.Provenance(900),
                [new Secret("mara", SecretKind.Password, "invented-hash-1")]);
            people.Record([new ClinicEvent.PersonAdded(lena, "Lena", Role.Aide),
                new ClinicEvent.SecretSet(lena, SecretKind.Pin)], Rows.Provenance(901),
                [new Secret("lena", SecretKind.Pin, "invented-hash-2")]);
            people.Record([new ClinicEvent.SignedIn(mara, SignInWay.Password, "192.0.2.7")], Rows.Provenance(902), []);
            people.Keep(new Session("invented-token", mara, SignInWay.Password, null, DeviceId.Of("browser-1"),
                Rows.Morning, Rows.Morning)
            { Begun = clinic.Revision });
            var snapshots = new BenchSnapshots(file);
            snapshots.Save(snapshots.Load(Rows.Bench, out _)!);
            book.CatchUp();
        }

        using var connection = new SqliteConnection($"Data Source={folder.DataFile};Pooling=false");
        connection.Open();
        using var command = connection.CreateCommand();
        command.CommandText = "PRAGMA journal_mode = DELETE";
        command.ExecuteNonQuery();
    }
}
