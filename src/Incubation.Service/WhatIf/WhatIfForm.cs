using System.Globalization;
using Incubation.Exchange;
using Incubation.Model;
using Incubation.Records.Clinic;
using Incubation.Service.Text;
using Incubation.Simulation.Capacity;
using NodaTime;
using NodaTime.Text;

namespace Incubation.Service.WhatIf;

/// <summary>A question of what a bench could do, as it is filled in.</summary>
public sealed class WhatIfForm
{
    private const double MaxPerHour = 200;
    private const int LongestCardChange = 3600;
    private const int MaxSwept = 24;

    /// <summary>From so many days on an hour needs two of them to count as open.</summary>
    private const int DaysForTwo = 5;

    /// <summary>Pairs of hands.</summary>
    public string? Hands { get; set; } = "1";

    /// <summary>Slots of the incubator.</summary>
    public string? Slots { get; set; } = "8";

    /// <summary>Readers.</summary>
    public string? Readers { get; set; } = "1";

    /// <summary>Seconds that changing a reader's card takes.</summary>
    public string? CardChange { get; set; } = "25";

    /// <summary>When the bench opens.</summary>
    public string? Open { get; set; } = "08:00";

    /// <summary>When it takes no more.</summary>
    public string? Close { get; set; } = "16:00";

    /// <summary>Percent of the requests that are urgent.</summary>
    public string? Urgent { get; set; } = "10";

    /// <summary>How many days are played.</summary>
    public string? Days { get; set; } = "40";

    /// <summary>The sweep goes from one slot to so many; 0 for none.</summary>
    public string? Sweep { get; set; } = "16";

    /// <summary>The period that is filled in: its first day.</summary>
    public string? From { get; set; }

    /// <summary>Its last day.</summary>
    public string? To { get; set; }

    /// <summary>On what the opening hours rest, in a sentence; null where a person typed them.</summary>
    public string? Basis { get; private set; }

    /// <summary>Requests an hour, by assay and the hour of the day.</summary>
    public Dictionary<(AssayCode Assay, int Hour), string?> PerHour { get; } = [];

    /// <summary>The hours for which something can be wanted.</summary>
    public IEnumerable<int> Hours => DemandFile.ParseTime(Open) is { } open && DemandFile.ParseTime(Close) is { } close
        && close > open
        ? Enumerable.Range(open.Hours + (24 * open.Days), (int)Math.Ceiling(close.TotalHours) - (int)open.TotalHours)
        : [];

    /// <summary>Fills in what a bench has.</summary>
    public void Take(BenchSetup setup)
    {
        ArgumentNullException.ThrowIfNull(setup);
        (Hands, Slots, Readers, CardChange) = (Written(setup.Hands), Written(setup.Slots), Written(setup.Readers),
            Written(setup.CardChange.TotalSeconds));
    }

    /// <summary>
    /// Fills in what came to a bench in a period, on an average day of it on which something came; what is wrong, or
    /// null. The bench counts as open in the hours in which something came on a tenth of the days, and on two at least
    /// where there are five: one late arrival is no opening hour.
    /// </summary>
    /// <param name="requests">Everything that ever came to the bench.</param>
    /// <param name="zone">The clinic's zone.</param>
    public FormFault? Take(IReadOnlyList<ReceivedRequest> requests, DateTimeZone zone)
    {
        ArgumentNullException.ThrowIfNull(requests);
        if (LocalDatePattern.Iso.Parse(From ?? "") is not { Success: true, Value: var from })
            return new FormFault(nameof(From), WhatIfWords.DayFault);
        if (LocalDatePattern.Iso.Parse(To ?? "") is not { Success: true, Value: var to } || to < from)
            return new FormFault(nameof(To), WhatIfWords.DayFault);
        var came = requests.Select(request => (Request: request, At: request.ReceivedAt.Local(zone)))
            .Where(one => one.At.Date >= from && one.At.Date <= to).ToList();
        if (came.Count == 0)
            return new FormFault(nameof(From), WhatIfWords.PeriodEmpty);
        var days = came.Select(one => one.At.Date).Distinct().Count();
        var need = days < DaysForTwo ? 1 : Math.Max(2, (int)Math.Ceiling(days / 10.0));
        var usual = came.GroupBy(one => one.At.Hour)
            .Where(hour => hour.Select(one => one.At.Date).Distinct().Count() >= need).Select(hour => hour.Key)
            .DefaultIfEmpty(came[0].At.Hour).ToList();
        var (open, close, all) = (usual.Min(), usual.Max() + 1, came.Count);
        came.RemoveAll(one => one.At.Hour < open || one.At.Hour >= close);
        PerHour.Clear();
        foreach (var hour in came.GroupBy(one => (one.Request.Request.Assay, one.At.Hour)))
            PerHour[hour.Key] = ((double)hour.Count() / days).ToString("0.##", CultureInfo.InvariantCulture);
        (Open, Close) = (Clock(open), Clock(close));
        var left = all - came.Count;
        Basis = Say.Of(WhatIfWords.Basis, Open, Close, need, days)
            + (left == 0 ? "" : " " + Say.Counted(left, WhatIfWords.BasisLeftOne, WhatIfWords.BasisLeftMany));
        Urgent = (100.0 * came.Count(one => one.Request.Request.Priority == Priority.Urgent) / came.Count)
            .ToString("0.#", CultureInfo.InvariantCulture);
        return null;
    }

    /// <summary>The question; or what is wrong with it, member by member.</summary>
    /// <param name="assays">The clinic's assays.</param>
    /// <param name="guard">The read guard of the bench that it is about.</param>
    /// <param name="seed">Seed of every chance.</param>
    public (IReadOnlyList<FormFault> Faults, CapacityQuestion? Question,
        StudyOrder? Order) Read(IReadOnlyList<Assay> assays, Duration guard, ulong seed)
    {
        ArgumentNullException.ThrowIfNull(assays);
        var faults = new List<FormFault>();
        var hands = Whole(nameof(Hands), Hands, 1, BenchLimits.Hands, faults);
        var slots = Whole(nameof(Slots), Slots, 0, BenchLimits.Slots, faults);
        var readers = Whole(nameof(Readers), Readers, 1, BenchLimits.Readers, faults);
        var card = TypedLength.Seconds(CardChange, LongestCardChange, out var cardFault) ?? Duration.Zero;
        if (cardFault is not null)
            faults.Add(new FormFault(nameof(CardChange), cardFault));
        var urgent = Number(nameof(Urgent), Urgent, 100, faults);
        var days = Whole(nameof(Days), Days, 1, 1000, faults);
        var sweep = Whole(nameof(Sweep), Sweep, 0, MaxSwept, faults);
        var open = DemandFile.ParseTime(Open);
        var close = DemandFile.ParseTime(Close);
        if (open is null)
            faults.Add(new FormFault(nameof(Open), WhatIfWords.TimeFault));
        if (close is null || close <= open)
            faults.Add(new FormFault(nameof(Close), close is null ? WhatIfWords.TimeFault : WhatIfWords.CloseFault));
        var rates = open is { } from && close is { } to && to > from ? Rates(assays, from, to, faults) : [];
        if (faults.Count == 0 && rates.Count == 0)
            faults.Add(new FormFault(nameof(PerHour), WhatIfWords.NothingWanted));
        if (faults.Count == 0 && slots == 0
            && assays.FirstOrDefault(assay => assay.Place == IncubationPlace.Incubator
                && rates.Exists(rate => rate.Assay == assay.Code)) is { } homeless)
            faults.Add(new FormFault(nameof(Slots), Say.Of(WhatIfWords.NoSlotFor, homeless.Name)));
        if (faults.Count > 0)
            return (faults, null, null);
        var bench = new BenchSetup(hands, slots, readers, card, guard, 0);
        return ([],
            new CapacityQuestion(bench, [.. assays], new Demand(open!.Value, close!.Value, urgent / 100, [.. rates])),
            new StudyOrder(days, seed, MaxSlots: sweep));
    }

    private List<DemandRate> Rates(IReadOnlyList<Assay> assays, Duration open, Duration close, List<FormFault> faults)
    {
        var rates = new List<DemandRate>();
        foreach (var assay in assays)
            foreach (var hour in Hours)
                if (PerHour.GetValueOrDefault((assay.Code, hour)) is { Length: > 0 } text)
                {
                    var perHour = Number(nameof(PerHour), text, MaxPerHour, faults);
                    if (perHour > 0)
                        rates.Add(new DemandRate(assay.Code, Duration.Max(open, Duration.FromHours(hour)),
                            Duration.Min(close, Duration.FromHours(hour + 1)), perHour));
                }

        return rates;
    }

    private static int Whole(string member, string? text, int least, int most, List<FormFault> faults)
    {
        var number = TypedNumber.Whole(text, least, most, out var fault);
        if (fault is not null)
            faults.Add(new FormFault(member, fault));
        return number ?? 0;
    }

    private static double Number(string member, string? text, double most, List<FormFault> faults)
    {
        var read = TypedNumber.Read(text);
        if (read.Value is { } number && number >= 0 && number <= (decimal)most)
            return (double)number;
        if (faults.TrueForAll(fault => fault.Member != member))
            faults.Add(new FormFault(member, read.FaultOr(Say.Of(WhatIfWords.NumberFault, most))));
        return 0;
    }

    private static string Written(double value) => value.ToString("0", CultureInfo.InvariantCulture);

    private static string Clock(int hour) => string.Create(CultureInfo.InvariantCulture, $"{hour:00}:00");
}
