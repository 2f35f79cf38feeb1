using Incubation.Clinic;
using Incubation.Clinic.Connections;
using Incubation.Clinic.Stock;
using Incubation.Model;
using Incubation.Records.Batches;
using Incubation.Records.Log;
using Incubation.Service.Clinic;
using Incubation.Service.Clock;
using Incubation.Service.People;

namespace Incubation.Service.Connections;

/// <summary>
/// Tells destinations of results that went out while their lot's controls, as is known by now, were wrong: each once,
/// until a supervisor has reviewed it.
/// </summary>
public sealed class DoubtNotices(ClinicHost clinic, CartridgeProjection book, BenchClock clock,
    ILogger<DoubtNotices> logger)
{
    private static readonly PersonId Itself = new("server");
    private static readonly DeviceId Through = new("server");

    /// <summary>Puts into the outbox what is in doubt and was not told.</summary>
    public void Put()
    {
        if (clinic.Log.Connections.InUse.All(one => !one.Destination.Topics.Contains(NoticeTopic.Results)))
            return;
        foreach (var lot in clinic.Log.Stock.Items.Keys.Where(key => key.Kind == StockKind.Kit)
            .Select(key => key.Lot))
            foreach (var (bench, span) in clinic.Log.Controls.Of(lot).AwaitingReview)
                Put([.. book.WentOut(lot, bench, span)
                    .Where(one => !clinic.Log.Connections.InDoubt.Contains((one.Bench, one.Request)))]);
    }

    private void Put(IReadOnlyList<CartridgeRecord> results)
    {
        if (results.Count == 0)
            return;
        try
        {
            clinic.Log.Record([.. results.Select(one => new ClinicEvent.ResultNoticed(one.Bench, one.Batch,
                one.Request, NoticeKind.InDoubt))], Provenances.Of(Itself, Through, clock));
        }
        catch (AppendException fault)
        {
            logger.LogError(fault, "Results in doubt could not be put into the outbox.");
        }
    }
}
