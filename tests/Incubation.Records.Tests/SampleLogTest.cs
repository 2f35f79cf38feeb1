using Incubation.Records.Export;
using Xunit;

namespace Incubation.Records.Tests;

/// <summary>
/// Logs that programs of this project once wrote. Each must be verified, understood and replayed to the same end by
/// every later version: a sample is never changed and never taken away.
/// </summary>
public sealed class SampleLogTest
{
    private static readonly string Folder = Path.Combine(AppContext.BaseDirectory, "Samples");

    public static TheoryData<string> Samples =>
        [.. Directory.GetFiles(Folder, "*.jsonl").Select(path => Path.GetFileNameWithoutExtension(path))
            .Order(StringComparer.Ordinal)];

    [Theory]
    [MemberData(nameof(Samples))]
    public void Sample_Replayed_LeadsToWhatItAlwaysDid(string name)
    {
        using var reader = File.OpenText(Path.Combine(Folder, name + ".jsonl"));
        var rows = LogExport.Read(reader).ToList();
        Assert.Equal(File.ReadAllText(Path.Combine(Folder, name + ".summary.txt")), SampleSummary.Of(rows));
    }

    /// <summary>Taken together the samples hold every event in every version that was ever written.</summary>
    [Fact]
    public void Samples_Together_HoldEveryEvent()
    {
        var held = Directory.GetFiles(Folder, "*.jsonl")
            .SelectMany(path =>
            {
                using var reader = File.OpenText(path);
                return LogExport.Read(reader).Select(row => (row.Header.EventType, row.Header.SchemaVersion)).ToList();
            })
            .ToHashSet();
        var written = Benches.BenchEvents.Registry.Forms.Concat(Clinic.ClinicEvents.Registry.Forms)
            .SelectMany(form => Enumerable.Range(1, form.Version).Select(version => (form.Name, version)));
        Assert.Empty(written.Except(held));
    }
}
