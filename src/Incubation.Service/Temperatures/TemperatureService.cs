using Incubation.Bench;
using Incubation.Clinic.People;
using Incubation.Model;
using Incubation.Records;
using Incubation.Records.Benches;
using Incubation.Service.Benches;
using Incubation.Service.Clinic;
using Incubation.Service.Clock;
using Incubation.Service.People;
using Incubation.Service.Screens;
using Incubation.Service.Text;
using NodaTime;

namespace Incubation.Service.Temperatures;

/// <summary>What a probe has sent, or should.</summary>
/// <param name="Probe">Its key.</param>
/// <param name="Name">The name that people read.</param>
/// <param name="Every">So often it should send; null where nobody expects it.</param>
/// <param name="Course">How it has come in.</param>
/// <param name="Measured">What came in during the last day, the oldest first.</param>
public sealed record ProbeLine(DeviceId Probe, string Name, Duration? Every, ProbeCourse Course,
    IReadOnlyList<MeasuredTemperature> Measured);

/// <summary>The temperatures of a bench.</summary>
/// <param name="Bench">The bench.</param>
/// <param name="Name">Its name.</param>
/// <param name="Set">What the incubator is set to; null where nobody has said.</param>
/// <param name="Tolerance">How far it may lie from that.</param>
/// <param name="Probes">Its probes, by their names.</param>
/// <param name="Typed">What was typed last by hand; null where nothing was within the last day.</param>
public sealed record BenchTemperatures(BenchId Bench, string Name, Celsius? Set, Celsius? Tolerance,
    IReadOnlyList<ProbeLine> Probes, MeasuredTemperature? Typed);

/// <summary>
/// What probes have sent by wire, and who of them is expected. That a probe has fallen silent is the bench's own
/// knowledge (<see cref="Probes"/>), and stands on its screens.
/// </summary>
public sealed class TemperatureService(ClinicHost clinic, BenchRegistry benches, DataFile file, BenchClock clock,
    BenchService desk)
{
    /// <summary>So far back it is shown.</summary>
    public static readonly Duration Shown = Duration.FromHours(24);

    /// <summary>More than a bench's busiest day with a probe every minute has.</summary>
    private const long MostRows = 20_000;

    private readonly Lock gate = new();
    private readonly TemperatureRows rows = new(file);
    private readonly Dictionary<BenchId, (long UpTo, List<MeasuredTemperature> Found)> known = [];

    /// <summary>The benches that an actor may see, each with its temperatures.</summary>
    public IReadOnlyList<BenchTemperatures> List(Actor? actor) =>
        [.. benches.All.Where(runner => Access.May(actor, Right.Look, runner.Id.Value))
            .Select(runner => Of(runner.Present.State))];

    /// <summary>Expects a probe from now on, or no more.</summary>
    /// <param name="actor">Who; a supervisor.</param>
    /// <param name="bench">Id of the bench.</param>
    /// <param name="probe">The probe's key.</param>
    /// <param name="minutes">So often, as typed; empty for no more.</param>
    public async Task<Outcome> ExpectAsync(Actor? actor, string bench, DeviceId probe, string? minutes)
    {
        Duration? every = null;
        if (!string.IsNullOrWhiteSpace(minutes))
        {
            var (least, most) = ((int)Probes.LeastEvery.TotalMinutes, (int)Probes.MostEvery.TotalMinutes);
            if (TypedNumber.Whole(minutes, least, most, out var fault) is not { } whole)
                return new Outcome(fault);
            every = Duration.FromMinutes(whole);
        }

        if (actor is null)
            return new Outcome(Words.SignInFirst);
        var answer = await desk.SendAsync(actor, bench,
            new CommandEnvelope(new BenchCommand.ExpectProbe(probe, every), Provenances.Of(actor, clock)));
        return new Outcome(answer.Recorded ? null : answer.Sentence);
    }

    private BenchTemperatures Of(BenchState state)
    {
        var measured = Read(state.Id);
        var keys = clinic.Log.People.Keys;
        var there = state.Probes.Select(one => one.Probe)
            .Concat(measured.Select(one => one.Device).Where(keys.ContainsKey))
            // Whoever may send, and has not yet.
            .Concat(keys.Values.Where(key => !key.IsRevoked && key.Bench == state.Id
                && key.Scopes.Contains(KeyScope.Bench)).Select(key => key.Id))
            .Distinct();
        var warmth = Readiness.BatchWarmth(state);
        return new BenchTemperatures(state.Id, state.Name, state.Incubator?.Set ?? warmth?.Set,
            state.Incubator?.Tolerance ?? warmth?.Tolerance,
            [.. there.Select(probe => LineOf(state, probe, [.. measured.Where(one => one.Device == probe)]))
                .OrderBy(line => line.Name, StringComparer.CurrentCulture)],
            measured.LastOrDefault(one => !keys.ContainsKey(one.Device)));
    }

    private ProbeLine LineOf(BenchState state, DeviceId probe, IReadOnlyList<MeasuredTemperature> measured)
    {
        var expected = state.Probes.FirstOrDefault(one => one.Probe == probe);
        return new ProbeLine(probe, Names.Of(probe, clinic.Log.People), expected?.Every,
            ProbeCourse.Of([.. measured.Select(one => one.At)], expected?.Every, clock.Now), measured);
    }

    /// <summary>Only what came since it was read last is read.</summary>
    private List<MeasuredTemperature> Read(BenchId bench)
    {
        lock (gate)
        {
            var before = known.GetValueOrDefault(bench, (0, []));
            var (upTo, more) = rows.After(bench, before.UpTo, MostRows);
            var from = clock.Now - Shown;
            List<MeasuredTemperature> found = [.. before.Found.Concat(more).Where(one => one.At >= from)
                .OrderBy(one => one.At)];
            known[bench] = (upTo, found);
            return found;
        }
    }
}
