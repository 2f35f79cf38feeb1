using System.Collections.Immutable;
using Incubation.Bench;

namespace Incubation.Clinic;

/// <summary>What is to become of a command to the clinic.</summary>
public abstract record ClinicDecision
{
    private ClinicDecision() { }

    /// <summary>These events are to be recorded, in this order, all or none.</summary>
    public sealed record Accepted(ImmutableArray<ClinicEvent> Events) : ClinicDecision;

    /// <summary>This command was recorded before; nothing is to be done.</summary>
    public sealed record AlreadyRecorded : ClinicDecision;

    /// <summary>Nothing of the command may be recorded.</summary>
    /// <param name="Why">The reason.</param>
    /// <param name="Detail">The thing meant, as data for the sentence.</param>
    public sealed record Refused(ClinicRefusal Why, string Detail) : ClinicDecision;
}

/// <summary>
/// The clinic: one deterministic state machine, as the bench is another. It reads no clock, draws no random number
/// and does no
/// I/O; the same entries always give the same state.
/// </summary>
public static class LiveClinic
{
    /// <summary>
    /// What is to be recorded for a command: the events that it wants, each judged with those before it already in
    /// force. Throws
    /// <see cref="ArgumentOutOfRangeException"/> for a command that wants none.
    /// </summary>
    /// <param name="state">The clinic as it is.</param>
    /// <param name="wanted">What the command wants recorded, at least one event.</param>
    /// <param name="provenance">Who says so, when, through what; its id makes a repeat harmless.</param>
    public static ClinicDecision Decide(ClinicState state, IReadOnlyList<ClinicEvent> wanted, Provenance provenance)
    {
        ArgumentNullException.ThrowIfNull(state);
        ArgumentNullException.ThrowIfNull(wanted);
        ArgumentNullException.ThrowIfNull(provenance);
        ArgumentOutOfRangeException.ThrowIfZero(wanted.Count, nameof(wanted));
        if (state.Recorded.Contains(provenance.Id))
            return new ClinicDecision.AlreadyRecorded();
        var next = state;
        foreach (var @event in wanted)
        {
            if (next.Against(@event, provenance) is { } objection)
                return new ClinicDecision.Refused(objection.Why, objection.Detail);
            next = next.Apply(new ClinicEntry(@event, provenance));
        }
        return new ClinicDecision.Accepted([.. wanted]);
    }

    /// <summary>The state after one more entry. Accepts every entry that was ever recorded.</summary>
    public static ClinicState Apply(ClinicState state, ClinicEntry entry)
    {
        ArgumentNullException.ThrowIfNull(state);
        ArgumentNullException.ThrowIfNull(entry);
        return state.Apply(entry);
    }
}
