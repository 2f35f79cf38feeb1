using Incubation.Model;
using NodaTime;

namespace Incubation.Bench;

/// <summary>Turns a live bench into the planning problem that starts from where it stands.</summary>
internal static class BenchProblem
{
    public static BenchDay Of(BenchState state, Instant now)
    {
        var open = state.Cartridges.Where(c => !c.IsOver && c.Stage is not CartridgeStage.Astray && !IsOvertaken(state, c, now)).ToList();
        var codes = new AssayNames();
        var requests = open.Select(c => c.Wanted.Request with
        {
            Assay = codes.Of(c.Wanted),
            After = [.. c.Wanted.Request.After.Where(id => open.Any(o => o.Id == id))],
        }).ToList();
        return new BenchDay(
            state.StartedAt is { } started ? Instant.Min(started, now) : now,
            state.Setup,
            codes.Assays,
            requests,
            Calendar: [],
            state.Phase == BatchPhase.Running || state.Cards.Count > 0 ? MidRunOf(state, open, now) : null);
    }

    /// <summary>
    /// Another cartridge was loaded into its slot while it was being moved out, and that its read was started was never
    /// reported: it is in no slot any more, and its alarm asks for it until it is read or discarded.
    /// </summary>
    private static bool IsOvertaken(BenchState state, Cartridge cartridge, Instant now) =>
        cartridge.Phase is CartridgePhase.Reacting { Place: CartridgePlace.InSlot at } mine
        && !Progress.IsBeingMoved(state, cartridge.Id, now)
        && state.Cartridges.Any(other => other.Id != cartridge.Id
            && other.Phase is CartridgePhase.Reacting { Place: CartridgePlace.InSlot its } later
            && its.Slot == at.Slot && later.LoadEnd.Latest >= mine.LoadEnd.Latest);

    private static MidRun MidRunOf(BenchState state, List<Cartridge> open, Instant now) => new(
        now,
        [.. state.Cards.Select(c => new CardInReader(new ReaderNumber(c.Key), c.Value))],
        [.. Progress.At(state, now)],
        [.. open.Where(c => c.Phase is not null).Select(c => new CartridgeInWork(c.Id, c.Phase!))]);

    /// <summary>A day names each assay once; two versions of one assay on a bench get names of their own.</summary>
    private sealed class AssayNames
    {
        private readonly Dictionary<(AssayCode, int), AssayCode> names = [];

        public List<Assay> Assays { get; } = [];

        public AssayCode Of(BenchRequest wanted)
        {
            var key = (wanted.Assay.Code, wanted.AssayVersion);
            if (names.TryGetValue(key, out var name))
                return name;
            name = Assays.Exists(a => a.Code == wanted.Assay.Code)
                ? new AssayCode(FormattableString.Invariant($"{wanted.Assay.Code}#{wanted.AssayVersion}"))
                : wanted.Assay.Code;
            Assays.Add(wanted.Assay with { Code = name });
            names.Add(key, name);
            return name;
        }
    }
}
