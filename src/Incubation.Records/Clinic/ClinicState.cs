using System.Collections.Immutable;
using Incubation.Model;
using Incubation.Records.People;
using Incubation.Records.Stock;
using NodaTime;

namespace Incubation.Records.Clinic;

/// <summary>A refusal before it is an outcome.</summary>
internal sealed record ClinicObjection(ClinicRefusal Why, string Detail);

/// <summary>
/// What the clinic's log must remember to judge the next event. Immutable; made from events alone; reads no clock.
/// </summary>
internal sealed record ClinicState
{
    /// <summary>A clinic whose stream is empty.</summary>
    public static ClinicState Empty { get; } = new();

    public DateTimeZone? Zone { get; private init; }

    /// <summary>How many versions of each assay are approved.</summary>
    public ImmutableDictionary<AssayCode, int> Versions { get; private init; } = ImmutableDictionary<AssayCode, int>.Empty;

    public ImmutableHashSet<BenchId> Benches { get; private init; } = [];

    public ImmutableHashSet<RequestId> Requests { get; private init; } = [];

    /// <summary>Who may do what.</summary>
    public PeopleState People { get; private init; } = PeopleState.Empty;

    /// <summary>Every lot.</summary>
    public StockState Stock { get; private init; } = StockState.Empty;

    /// <summary>The last time that a person confirmed, or null.</summary>
    public ClinicEvent.ClockConfirmed? Clock { get; private init; }

    /// <summary>Every command recorded, so that a repeat is harmless.</summary>
    public ImmutableHashSet<ReportId> Recorded { get; private init; } = [];

    /// <summary>How many events made this state.</summary>
    public long Revision { get; private init; }

    /// <summary>The state after one more entry. Accepts every entry that was ever recorded.</summary>
    public ClinicState Apply(ClinicEntry entry)
    {
        var next = this with { Revision = Revision + 1, Recorded = Recorded.Add(entry.Touch.Id) };
        return entry.Event switch
        {
            ClinicEvent.ClinicOpened opened => next with { Zone = ZoneOf(opened.TimeZone) ?? DateTimeZone.Utc },
            ClinicEvent.AssayApproved approved => next with { Versions = Versions.SetItem(approved.Assay.Code, approved.Version) },
            ClinicEvent.BenchRegistered bench => next with { Benches = Benches.Add(bench.Bench) },
            ClinicEvent.ClockConfirmed confirmed => next with { Clock = confirmed },
            ClinicEvent.RequestReceived request => next with { Requests = Requests.Add(request.Request.Id) },
            _ => next with { People = People.Apply(entry), Stock = Stock.Apply(entry) },
        };
    }

    /// <summary>What speaks against an event that arrives at an instant, or null.</summary>
    public ClinicObjection? Against(ClinicEvent @event, Instant arrived) => @event switch
    {
        ClinicEvent.ClinicOpened opened => AgainstOpening(opened),
        _ when Zone is null => new(ClinicRefusal.ClinicNotOpen, ""),
        ClinicEvent.AssayApproved approved => AgainstApproval(approved),
        ClinicEvent.LotReceived lot => AgainstLot(lot),
        ClinicEvent.BenchRegistered bench => AgainstBench(bench),
        ClinicEvent.RequestReceived request => AgainstRequest(request, arrived),
        _ => Stock.Against(@event, Versions.ContainsKey) ?? People.Against(@event, Benches),
    };

    private ClinicObjection? AgainstOpening(ClinicEvent.ClinicOpened opened) =>
        Zone is not null ? new(ClinicRefusal.ClinicAlreadyOpen, opened.Name)
        : string.IsNullOrWhiteSpace(opened.Name) ? new(ClinicRefusal.NameMissing, opened.Name)
        : ZoneOf(opened.TimeZone) is null ? new(ClinicRefusal.UnknownTimeZone, opened.TimeZone)
        : null;

    private ClinicObjection? AgainstApproval(ClinicEvent.AssayApproved approved)
    {
        var assay = approved.Assay;
        var code = assay.Code.Value;
        if (string.IsNullOrWhiteSpace(assay.Name) || string.IsNullOrWhiteSpace(approved.Unit))
            return new(ClinicRefusal.NameMissing, code);
        Duration[] lengths = [
            assay.Mix, assay.MixToLoad, assay.Load, assay.Incubation, assay.ReadWindow, assay.Move, assay.Read, assay.Clear,
            assay.MixShortest, assay.LoadShortest];
        if (lengths.Min() < Duration.Zero || assay.MixShortest > assay.Mix || assay.LoadShortest > assay.Load)
            return new(ClinicRefusal.LengthsImpossible, code);
        return approved.Version != Versions.GetValueOrDefault(assay.Code) + 1 ? new(ClinicRefusal.VersionOutOfOrder, code) : null;
    }

    private ClinicObjection? AgainstLot(ClinicEvent.LotReceived lot) =>
        !Versions.ContainsKey(lot.Assay) ? new(ClinicRefusal.UnknownAssay, lot.Assay.Value)
        : Stock.Find(StockKind.Kit, lot.Lot) is not null ? new(ClinicRefusal.LotAlreadyReceived, lot.Lot.Value)
        : null;

    private ClinicObjection? AgainstBench(ClinicEvent.BenchRegistered bench) =>
        string.IsNullOrWhiteSpace(bench.Name) ? new(ClinicRefusal.NameMissing, bench.Bench.Value)
        : Benches.Contains(bench.Bench) ? new(ClinicRefusal.BenchAlreadyRegistered, bench.Bench.Value)
        : null;

    private ClinicObjection? AgainstRequest(ClinicEvent.RequestReceived received, Instant arrived)
    {
        var request = received.Request;
        if (!Benches.Contains(received.Bench))
            return new(ClinicRefusal.UnknownBench, received.Bench.Value);
        if (Requests.Contains(request.Id))
            return new(ClinicRefusal.DuplicateRequest, request.Id.Value);
        if (received.AssayVersion < 1 || received.AssayVersion > Versions.GetValueOrDefault(request.Assay))
            return new(ClinicRefusal.UnknownAssay, request.Assay.Value);
        return Stock.StopOf(request.Lot, request.Assay, arrived.InZone(Zone!).Date) is { } stop ? new(Refusal(stop), request.Lot.Value) : null;
    }

    private static ClinicRefusal Refusal(StockStop stop) => (stop.Kind, stop.Cause) switch
    {
        (StockKind.Kit, StockStopCause.NotIn) => ClinicRefusal.UnknownLot,
        (_, StockStopCause.OtherAssay) => ClinicRefusal.LotOfAnotherAssay,
        (_, StockStopCause.Expired) => ClinicRefusal.LotExpired,
        (_, StockStopCause.Quarantined) => ClinicRefusal.LotQuarantined,
        (_, StockStopCause.Finished) => ClinicRefusal.LotFinished,
        _ => ClinicRefusal.PartsOfAnotherLot,
    };

    private static DateTimeZone? ZoneOf(string id) => DateTimeZoneProviders.Tzdb.GetZoneOrNull(id);
}
