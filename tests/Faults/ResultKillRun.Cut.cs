using Incubation.Bench;
using Incubation.Clinic;
using Incubation.Clinic.Controls;
using Incubation.Model;
using Incubation.Model.Controls;
using Incubation.Records;
using Incubation.Records.Benches;
using Incubation.Records.Clinic;
using NodaTime;

namespace Incubation.Faults;

/// <content>The file as a kill between two of the server's writes leaves it.</content>
internal sealed partial class ResultKillRun
{
    private int turned;

    /// <summary>
    /// A supervisor's words are written that turn the gate, as the server writes them: now and then also what they make
    /// of the controls, and never the gate. The next start has to do the rest.
    /// </summary>
    private void CutBetweenWrites(int kill, DataFile file)
    {
        var (clinic, streams) = (ClinicLog.Open(file), new BenchStreams(file));
        var state = streams.Load(new BenchId(Bench)).Aggregate((BenchState?)null, LiveBench.Apply)!;
        foreach (var one in entered)
            Settle(one, state, $"after kill {kill}");
        var controls = entered.Where(one => one is { IsControl: true, Is.Value: not null }).ToList();
        var rejected = controls.Where(one => Verdict(one.Is, one.Is.IsReleased) is ControlVerdict.Rejected).ToList();
        if (rejected.Count == 0 && controls.Count > 0)
            Say(controls[0], "200");
        foreach (var one in rejected)
            Say(one, "100");
        while (random.Between(1, 2) == 1 && ControlJudgements.Next(clinic.Controls, state,
            SystemClock.Instance.GetCurrentInstant()) is { } run)
            Record(clinic, "server", new ClinicEvent.ControlJudged(run));
        turned += GateIn(clinic, state) is var (should, stands) && should != stands ? 1 : 0;

        void Say(Entered one, string value)
        {
            var request = new RequestId(one.Request);
            if (one.Is.Value != value)
                Tell(new BenchCommand.AmendResult(request, new ShownResult.Value(value), "Read again."));
            if (!one.Is.IsReleased)
                Tell(new BenchCommand.ReleaseResult(request, "Seen."));
            one.Is = (value, true);
        }

        void Tell(BenchCommand command)
        {
            var provenance = talk.By("ines");
            if (LiveBench.Decide(state, command, provenance) is not Decision.Accepted accepted)
                throw new InvalidOperationException($"{command} was refused.");
            List<BenchEntry> entries = [.. accepted.Entries(provenance)];
            streams.Append(state.Id, state.Revision, entries);
            state = entries.Aggregate(state, LiveBench.Apply);
        }
    }

    /// <summary>How the gate should stand by the controls in a file, as they will be judged, and how it does.</summary>
    private static (LotGate Should, LotGate Stands) GateIn(ClinicLog clinic, BenchState state)
    {
        var (controls, now) = (clinic.Controls, SystemClock.Instance.GetCurrentInstant());
        while (ControlJudgements.Next(controls, state, now) is { } run)
            controls = controls.Apply(new ClinicEntry(new ClinicEvent.ControlJudged(run), new Provenance(
                new ReportId("looked"), now, now, new PersonId("server"), new DeviceId("office"))));
        var gates = new KitGates(clinic.Assays, clinic.Stock, controls, DateTimeZoneProviders.Tzdb["Europe/Berlin"])
        {
            Comparisons = clinic.Comparisons,
        };
        return (gates.GateOn(state.Id, Assay, new LotCode(Lot), now),
            state.GateOf(new LotCode(Lot))?.Gate ?? LotGate.Open);
    }
}
