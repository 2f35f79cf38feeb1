using Incubation.Bench;
using Incubation.Model;
using Incubation.Service.Snapshots;
using NodaTime;

namespace Incubation.Service.Text;

/// <summary>What a bench is told of urgent requests that come while its batch runs.</summary>
internal static class UrgentText
{
    /// <summary>Those that nobody has begun, the one that is to be begun first before the others.</summary>
    public static List<UrgentSnapshot> Write(BenchState state, DateTimeZone zone) => state.StartedAt is not { } started
        ? []
        : [.. state.Cartridges
            .Where(cartridge => cartridge.Stage is CartridgeStage.Waiting && cartridge.Came > started
                && cartridge.Wanted.Request.Priority == Priority.Urgent)
            .Select(cartridge => (cartridge, Row: state.Adopted?.RowOf(new StepAction.Mix(cartridge.Id))))
            .OrderBy(urgent => urgent.Row?.Step.Start ?? Instant.MaxValue)
            .Select(urgent => new UrgentSnapshot(urgent.cartridge.Id.Value,
                Sentence(state, urgent.cartridge, urgent.Row, zone)))];

    private static string Sentence(BenchState state, Cartridge cartridge, RemainingStep? mix, DateTimeZone zone)
    {
        var clear = state.Adopted?.Remaining.FirstOrDefault(row =>
            row.Step.Action is StepAction.Clear && row.Step.Action.Subject == cartridge.Id);
        return mix is null || clear is null
            ? Say.Of(TextWords.UrgentCame, cartridge.Wanted.Request.Specimen)
            : Say.Of(TextWords.UrgentPlanned, cartridge.Wanted.Request.Specimen, Say.Clock(clear.Step.End, zone),
                Say.Clock(mix.Step.Start, zone));
    }
}
