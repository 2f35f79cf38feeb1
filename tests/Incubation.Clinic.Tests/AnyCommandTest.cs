using Incubation.Clinic.People;
using Incubation.Clinic.Stock;
using Incubation.Clinic.TestKit;
using Incubation.Model;
using Incubation.Model.Controls;
using Incubation.TestKit;
using NodaTime;
using Xunit;

namespace Incubation.Clinic.Tests;

/// <summary>
/// Whatever is said to a clinic, in whatever order: it answers, takes all of a command or nothing, holds together, and
/// replays to the same.
/// </summary>
public sealed class AnyCommandTest
{
    private const int Clinics = 1000;
    private const int Said = 40;

    private static readonly LotCode[] Lots = [new("A-L1"), new("A-L2"), new("A-L7"), new("B-L1"), new("CTRL-7")];
    private static readonly AssayCode[] Assays = [new("A"), new("B"), new("X")];

    public static TheoryData<int> Seeds => [.. Enumerable.Range(1, Clinics)];

    [Theory]
    [MemberData(nameof(Seeds))]
    public void AnythingSaid_LeavesAClinicThatHoldsTogether(int seed)
    {
        var commands = new RandomCommands(seed);
        var clinic = new MemoryClinic(commands.Beginning);
        List<(ClinicState State, string Text)> seen = [];
        for (var said = 0; said < Said; said++)
        {
            var before = clinic.State;
            if (said % 8 == 0)
                seen.Add((before, StateText.Of(before)));
            var command = commands.Next(before);
            var decision = clinic.Record(command.Events, command.Provenance);
            if (decision is ClinicDecision.Accepted accepted)
                Assert.Equal(command.Events, accepted.Events);
            else
                Assert.Same(before, clinic.State);
            if (decision is not ClinicDecision.Refused)
                Assert.IsType<ClinicDecision.AlreadyRecorded>(clinic.Record(command.Events, command.Provenance));
            Assert.True(!HasPassword(before) || HasPassword(clinic.State), "Nobody could look after people any more.");
        }

        AssertHoldsTogether(clinic);
        AssertAnswers(clinic.State);
        Assert.Equal(StateText.Of(clinic.State), StateText.Of(clinic.Replayed()));
        // No state that was ever given has changed since.
        Assert.All(seen, one => Assert.Equal(one.Text, StateText.Of(one.State)));
    }

    /// <summary>The commands above reach far: each kind of event is taken, and every refusal met but three.</summary>
    [Fact]
    public void AllSeeds_AcceptEveryKindOfEvent_AndMeetTheRefusals()
    {
        HashSet<Type> accepted = [];
        HashSet<ClinicRefusal> refused = [];
        foreach (var seed in Enumerable.Range(1, Clinics))
        {
            var commands = new RandomCommands(seed);
            var clinic = new MemoryClinic(commands.Beginning);
            for (var said = 0; said < Said; said++)
            {
                var command = commands.Next(clinic.State);
                if (clinic.Record(command.Events, command.Provenance) is ClinicDecision.Refused no)
                    refused.Add(no.Why);
            }

            accepted.UnionWith(clinic.Entries.Skip(commands.Beginning.Sum(command => command.Events.Length))
                .Select(entry => entry.Event.GetType()));
        }

        Assert.Empty(Any.Cases(typeof(ClinicEvent)).Except(accepted));
        // What the bench's own stream must say stands in no command to the clinic alone; and so many orders, or
        // destinations, do not come.
        Assert.Equal([ClinicRefusal.StandingMissing, ClinicRefusal.TablesDiffer, ClinicRefusal.WorklistFull,
            ClinicRefusal.DestinationsFull], Enum.GetValues<ClinicRefusal>().Except(refused));
    }

    /// <summary>Whether somebody may look after people, and can sign in to do so.</summary>
    private static bool HasPassword(ClinicState state) => state.People.Persons.Values.Any(
        person => person is { IsActive: true, Role: Role.Administrator, HasPassword: true });

    private static void AssertHoldsTogether(MemoryClinic clinic)
    {
        var state = clinic.State;
        Assert.Equal(clinic.Entries.Count, state.Revision);
        Assert.Equal(clinic.Entries.Select(entry => entry.Provenance.Id).ToHashSet(), state.Recorded);
        Assert.True(state.Zone is not null || state.Revision == 0);
        foreach (var versions in state.Assays.Versions.Values)
        {
            Assert.Equal(Enumerable.Range(1, versions.Length), versions.Select(version => version.Version));
            Assert.All(versions, version => Assert.DoesNotContain(version.By.Value, version.Writers));
        }

        Assert.All(state.Stock.Items, item => Assert.Equal(item.Key, item.Value.Key));
        Assert.All(state.Stock.Items.Values, item => Assert.NotEmpty(item.Shipments));
        var taken = clinic.Entries.Select(entry => entry.Event).OfType<ClinicEvent.RequestReceived>().ToList();
        Assert.Equal(taken.Count, state.Requests.Count);
        var runs = state.Controls.Lots.Values.SelectMany(lot => lot.Runs).ToList();
        // Each judgement of a control comes right after the one before it, and the last one is told.
        Assert.All(state.Controls.Lots.Values.SelectMany(lot => lot.Runs.GroupBy(run => run.Request)), judged =>
            Assert.Equal(Enumerable.Range(0, judged.Count()), judged.Select(run => run.Revision)));
        Assert.All(runs, run => Assert.NotNull(state.Controls.LatestOf(run.Request)));
    }

    /// <summary>Every question about a state has an answer, and answers agree.</summary>
    private static void AssertAnswers(ClinicState state)
    {
        var day = new LocalDate(2026, 3, 2);
        foreach (var assay in Assays)
        {
            var usable = state.Stock.Usable(assay, day).Select(item => item.Lot).ToHashSet();
            Assert.All(Lots,
                lot => Assert.Equal(usable.Contains(lot), StockStop.Of(state.Stock, lot, assay, day) is null));
            Assert.All(usable, lot => Assert.True(state.Stock.LastDayOf(lot) >= day));
            Assert.All(Lots, lot => StockStop.OfControl(state.Stock, lot, assay, day));
        }

        foreach (var lot in Lots)
        {
            var history = state.Controls.Of(lot);
            var standing = history.On(
                ClinicStory.Sheet(ClinicStory.A, 3).Controls, ClinicStory.Bench,
                new(state.Stock.CameIn(lot), state.Controls.Serviced(ClinicStory.Bench)),
                StoryProvenance.Morning, DateTimeZone.Utc);
            Assert.Equal(history.AwaitingAction.Count > 0, standing is LotStatus.Failed { ActionMissing: true });
            Assert.All(history.AwaitingReview.Values, span => Assert.True(span.Until >= Instant.MinValue));
        }
    }
}
