using Incubation.Bench;
using Incubation.Clinic.Assays;
using Incubation.Clinic.Controls;
using Incubation.Clinic.Instruments;
using Incubation.Clinic.People;
using Incubation.Clinic.Programme;
using Incubation.Clinic.Record;
using Incubation.Clinic.Stock;

namespace Incubation.Clinic.TestKit;

/// <summary>A clinic without a file: its commands are judged and its events applied as the log does it.</summary>
public sealed class MemoryClinic
{
    private readonly List<ClinicEntry> entries = [];

    public MemoryClinic()
    {
    }

    /// <summary>A clinic to which a story has been told, of which nothing was refused.</summary>
    public MemoryClinic(IEnumerable<StoryCommand> story)
    {
        foreach (var command in story)
            if (Record(command.Events, command.Provenance) is not ClinicDecision.Accepted and var decision)
                throw new ArgumentException($"{command} was not accepted: {decision}", nameof(story));
    }

    /// <summary>The clinic as it is.</summary>
    public ClinicState State { get; private set; } = ClinicState.Empty;

    /// <summary>What was recorded; the n-th one has sequence n.</summary>
    public IReadOnlyList<ClinicEntry> Entries => entries;

    /// <summary>Who may do what.</summary>
    public PeopleState People => State.People;

    /// <summary>Every lot.</summary>
    public StockState Stock => State.Stock;

    /// <summary>The catalogue of assays.</summary>
    public AssaysState Assays => State.Assays;

    /// <summary>Controls.</summary>
    public ControlsState Controls => State.Controls;

    /// <summary>Comparisons of kit lots.</summary>
    public ComparisonsState Comparisons => State.Comparisons;

    /// <summary>External proficiency testing.</summary>
    public ProficiencyState Proficiency => State.Proficiency;

    /// <summary>Links to instruments, and what they sent.</summary>
    public InstrumentsState Instruments => State.Instruments;

    /// <summary>Results amended after their batches had been closed.</summary>
    public AmendmentsState Amendments => State.Amendments;

    /// <summary>Reports that came after their batches had been closed.</summary>
    public LateReportsState LateReports => State.LateReports;

    /// <summary>The state that the entries give once more, from nothing.</summary>
    public ClinicState Replayed() => entries.Aggregate(ClinicState.Empty, LiveClinic.Apply);

    /// <summary>Records one event.</summary>
    public ClinicDecision Record(ClinicEvent @event, Provenance provenance) => Record([@event], provenance);

    /// <summary>Records the events of one command, all or none.</summary>
    public ClinicDecision Record(IReadOnlyList<ClinicEvent> events, Provenance provenance)
    {
        var decision = LiveClinic.Decide(State, events, provenance);
        if (decision is ClinicDecision.Accepted accepted)
            foreach (var @event in accepted.Events)
            {
                entries.Add(new ClinicEntry(@event, provenance));
                State = LiveClinic.Apply(State, entries[^1]);
            }
        return decision;
    }
}
