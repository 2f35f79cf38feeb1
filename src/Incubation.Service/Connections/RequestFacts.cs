using Incubation.Model;
using Incubation.Records.Batches;
using Incubation.Service.Benches;

namespace Incubation.Service.Connections;

/// <summary>
/// Which specimen and assay a request is about: of the live bench, or of its closed batch. A closed batch is asked of
/// the record once for all its results and all destinations, as what a request was made of stays. May be used from any
/// thread.
/// </summary>
public sealed class RequestFacts(BenchRegistry benches, CartridgeProjection book)
{
    /// <summary>So many batches are remembered at most; then all are forgotten.</summary>
    private const int MostRemembered = 64;

    private readonly Lock oneAtATime = new();
    private readonly Dictionary<(BenchId, int), Lazy<Dictionary<RequestId, Facts>>> remembered = [];

    private sealed record Facts(SpecimenId Specimen, AssayCode Assay);

    /// <summary>The specimen and the assay; null where the record does not know the request.</summary>
    /// <param name="bench">The bench.</param>
    /// <param name="batch">The batch in which it is, or was.</param>
    /// <param name="request">The request.</param>
    public (SpecimenId Specimen, AssayCode Assay)? Of(BenchId bench, int batch, RequestId request)
    {
        if (benches.Find(bench.Value)?.Present.State.Find(request) is { Wanted.Request: var live })
            return (live.Specimen, live.Assay);
        if (Closed(bench, batch).TryGetValue(request, out var facts))
            return (facts.Specimen, facts.Assay);
        return book.LastClosed(bench, request) is { } closed ? (closed.Specimen, closed.Assay) : null;
    }

    private Dictionary<RequestId, Facts> Closed(BenchId bench, int batch)
    {
        Lazy<Dictionary<RequestId, Facts>>? known;
        lock (oneAtATime)
        {
            if (!remembered.TryGetValue((bench, batch), out known))
            {
                if (remembered.Count >= MostRemembered)
                    remembered.Clear();
                remembered[(bench, batch)] = known = new(() => Read(bench, batch));
            }
        }

        try
        {
            return known.Value;
        }
        catch
        {
            // What failed is asked again.
            Forget(bench, batch);
            throw;
        }
    }

    private Dictionary<RequestId, Facts> Read(BenchId bench, int batch)
    {
        if (book.Batch(bench, batch) is { Closed: not null } told)
            return told.Cartridges.ToDictionary(one => one.Request, one => new Facts(one.Specimen, one.Assay));
        // It may still grow.
        Forget(bench, batch);
        return [];
    }

    private void Forget(BenchId bench, int batch)
    {
        lock (oneAtATime)
            remembered.Remove((bench, batch));
    }
}
