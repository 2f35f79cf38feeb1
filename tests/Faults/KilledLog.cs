using System.Collections.Concurrent;
using Incubation.Model;
using Incubation.Records;
using Incubation.Records.Log;

namespace Incubation.Faults;

/// <summary>
/// What the log of a program that is killed again and again must hold: whole, what it was before and more, and with
/// everything that was acknowledged, once.
/// </summary>
internal sealed class KilledLog
{
    private readonly List<string> faults = [];
    private List<Digest> before = [];

    /// <summary>The program that is killed.</summary>
    public static string Dll => Path.Combine(
        Checkout, "src", "Incubation.Server", "bin", new DirectoryInfo(AppContext.BaseDirectory).Parent!.Name,
            "net10.0", "Incubation.Server.dll");

    /// <summary>Where the project lies.</summary>
    public static string Checkout
    {
        get
        {
            var at = new DirectoryInfo(AppContext.BaseDirectory);
            while (at is not null && !File.Exists(Path.Combine(at.FullName, "Incubation.sln")))
                at = at.Parent;
            return at?.FullName ?? throw new InvalidOperationException("These are not run from a checkout.");
        }
    }

    /// <summary>Names of the commands that were acknowledged.</summary>
    public ConcurrentDictionary<string, bool> Acknowledged { get; } = new();

    /// <summary>What was wrong.</summary>
    public IReadOnlyList<string> Faults => faults;

    /// <summary>Something else is wrong.</summary>
    public void Add(string fault) => faults.Add(fault);

    /// <summary>Looks at the log as a kill has left it.</summary>
    public void Compare(int kill, DataFile file)
    {
        faults.AddRange(file.Log.VerifyAll().Faults.Select(fault => $"kill {kill}: {fault.Message}"));
        var log = file.Log.ReadAll(StreamName.OfBench(new BenchId("bench-1"))).Select(row => row.Header).ToList();
        var times = log.Where(row => row.IndexInCommand == 0).GroupBy(row => row.Report.Value)
            .ToDictionary(group => group.Key, group => group.Count());
        faults.AddRange(Acknowledged.Keys.Where(id => times.GetValueOrDefault(id) != 1)
            .Select(id => $"kill {kill}: {id} was acknowledged and is in the log {times.GetValueOrDefault(id)} times"));
        if (!log.Select(row => row.Hash).Take(before.Count).SequenceEqual(before))
            faults.Add($"kill {kill}: the log has changed before row {before.Count}");
        before = [.. log.Select(row => row.Hash)];
    }
}
