using System.Diagnostics;
using System.Diagnostics.Metrics;

namespace Incubation.Service.Benches;

/// <summary>What the benches measure about themselves: lengths and counts, nothing about patients.</summary>
public static class BenchMeter
{
    /// <summary>Name of the meter and of the source of traces, for whoever collects.</summary>
    public const string Name = "Incubation.Server";

    private static readonly Meter Meter = new(Name);

    /// <summary>How much later than its instant a change was shown (a prompt, an alarm), in real seconds.</summary>
    internal static readonly Histogram<double> Lateness = Meter.CreateHistogram<double>(
        "incubation.prompt.lateness", "s", "How late a prompt or alarm was sent to the screens");

    /// <summary>How long making and adopting a plan took, in seconds.</summary>
    internal static readonly Histogram<double> Plan = Meter.CreateHistogram<double>(
        "incubation.plan.duration", "s", "Making and adopting a plan");

    /// <summary>Screens that are connected.</summary>
    internal static readonly UpDownCounter<int> Clients = Meter.CreateUpDownCounter<int>(
        "incubation.hub.clients", "{client}", "Screens connected to the benches' hub");

    /// <summary>Traces of commands and plans.</summary>
    internal static readonly ActivitySource Traces = new(Name);

    /// <summary>Watches the queues of the benches from now on.</summary>
    internal static void Watch(BenchRegistry benches) => Meter.CreateObservableGauge(
        "incubation.queue.depth",
        () =>
            benches.All.Select(runner =>
                new Measurement<int>(runner.QueueDepth, new KeyValuePair<string, object?>("bench", runner.Id.Value))),
        "{command}", "Commands that wait at a bench");
}
