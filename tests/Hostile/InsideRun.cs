using System.Diagnostics;
using System.Globalization;
using System.Text.Json;
using Incubation.Bench;
using Incubation.Chart;
using Incubation.Clinic.People;
using Incubation.Model;
using Incubation.Records.Benches;
using Incubation.Service.Benches;
using Incubation.Service.Clock;
using Incubation.Service.Commands;
using Incubation.Service.Screens;
using Incubation.Service.Snapshots;
using NodaTime;

namespace Incubation.Hostile;

/// <summary>What a case came to.</summary>
/// <param name="Findings">What must not be: empty where all held.</param>
/// <param name="Outcomes">What became of each command.</param>
internal sealed record InsideReport(IReadOnlyList<string> Findings, IReadOnlyList<string> Outcomes);

/// <summary>
/// Cases against the service in this process: a command is read, judged, recorded, planned for, shown in every layout
/// and replayed from its encoded log.
/// </summary>
internal sealed class InsideRun : IAsyncDisposable
{
    /// <summary>More than any snapshot of a bench of this size, in characters.</summary>
    private const int LongestSnapshot = 500_000;

    /// <summary>More than a command, its plan and its pictures allocate, beside what it brought.</summary>
    private const long MostAllocated = 400_000_000;

    private static readonly BenchId Bench = new("bench-1");
    private static readonly Instant Begin = Instant.FromUtc(2026, 3, 2, 7, 0);
    private readonly string folder;
    private readonly House house;
    private readonly PutTime time;
    private readonly SnapshotWriter writer;
    private readonly IReadOnlyList<Actor> callers;

    private InsideRun(string folder, House house, PutTime time, IReadOnlyList<BaseDay> days)
    {
        (this.folder, this.house, this.time, Days) = (folder, house, time, days);
        writer = house.Part<SnapshotWriter>();
        callers = CallersOf(house);
    }

    /// <summary>Where cases begin.</summary>
    public IReadOnlyList<BaseDay> Days { get; }

    /// <summary>Opens a clinic and plays the batch from whose moments cases begin.</summary>
    public static async Task<InsideRun> OpenAsync()
    {
        var folder = Directory.CreateTempSubdirectory("incubation-hostile-").FullName;
        var time = new PutTime(Begin.ToDateTimeOffset());
        var house = await House.OpenAsync(Path.Combine(folder, "incubation.db"), time);
        return new InsideRun(folder, house, time, await BaseDays.PlayAsync(house, time, most: 60));
    }

    /// <summary>The case of a number.</summary>
    public InsideCase Draw(int number, ulong seed) =>
        InsideCase.Draw(number, seed, Days.Count, callers.Count, Begin + Duration.FromHours(1));

    /// <summary>Plays a case.</summary>
    public async Task<InsideReport> PlayAsync(InsideCase one)
    {
        var findings = new List<string>();
        var outcomes = new List<string>();
        var day = Days[one.Base];
        time.Put(day.Now);
        var clock = new BenchClock(time, 1);
        var log = new MemoryLog(day.Entries);
        var faults = new FaultList();
        var loop = BaseDays.Loop(day.State, log, clock, faults);
        foreach (var command in one.Commands)
        {
            var before = GC.GetAllocatedBytesForCurrentThread();
            var begun = Stopwatch.GetTimestamp();
            var json = command.Write(loop.State, clock.Now, one.Number);
            try
            {
                var revision = loop.State.Revision;
                outcomes.Add(await SayAsync(loop, clock, callers[command.Caller], json));
                if (callers[command.Caller] is Actor.Person { Role: Role.Inspector } && outcomes[^1] == "recorded")
                    findings.Add($"{command.Kind}: recorded from somebody who may only read");
                // What changed nothing shows nothing new.
                if (loop.State.Revision != revision)
                    await LookAsync(loop, log, clock, findings);
                if (command.Later > Duration.Zero && loop.State.Revision != day.State.Revision)
                {
                    time.Put(clock.Now + command.Later);
                    await LookAsync(loop, log, clock, findings);
                }
            }
            catch (Exception fault) when (fault is not OutOfMemoryException)
            {
                findings.Add($"{command.Kind}: {fault}");
            }

            findings.AddRange(faults.Faults.Select(fault => $"{command.Kind}: logged: {fault}"));
            faults.Faults.Clear();
            if (log.Longest > 200_000)
                findings.Add($"{command.Kind}: a row of {log.Longest} characters");
            if (GC.GetAllocatedBytesForCurrentThread() - before > MostAllocated)
                findings.Add($"{command.Kind}: allocated {GC.GetAllocatedBytesForCurrentThread() - before} bytes");
            if (Stopwatch.GetElapsedTime(begun) > TimeSpan.FromSeconds(5))
                findings.Add($"{command.Kind}: took {Stopwatch.GetElapsedTime(begun).TotalSeconds:0.0} s");
            if (findings.Count > 0)
                break;
        }

        return new InsideReport(findings, outcomes);
    }

    /// <summary>
    /// The smallest part of a failing case that still fails, as the command line that plays it again.
    /// </summary>
    public async Task<string> ReduceAsync(InsideCase failing)
    {
        var kept = failing.Parts.ToList();
        foreach (var part in failing.Parts.OrderByDescending(part => part.Length))
        {
            var fewer = kept.Where(other => other != part
                && !other.StartsWith(part + ".", StringComparison.Ordinal)).ToList();
            if (fewer.Count > 0 && (await PlayAsync(failing.Keep(fewer))).Findings.Count > 0)
                kept = fewer;
        }

        return string.Create(CultureInfo.InvariantCulture,
            $"tests/Hostile/run.sh inside --seed {failing.Seed} --first {failing.Number} --count 1 --keep ")
            + string.Join(',', kept);
    }

    /// <inheritdoc/>
    public async ValueTask DisposeAsync()
    {
        await house.DisposeAsync();
        Directory.Delete(folder, recursive: true);
    }

    private async Task<string> SayAsync(BenchLoop loop, BenchClock clock, Actor actor, string json)
    {
        ScreenCommand? flat;
        try
        {
            flat = JsonSerializer.Deserialize<ScreenCommand>(json, FlatForm.Json);
        }
        catch (JsonException)
        {
            return "not JSON of its form";
        }

        var people = house.Part<Incubation.Service.Clinic.ClinicHost>().Log.People;
        if (CommandReader.Read(flat, clock.Now, actor, people) is not CommandReading.Readable read)
            return "unreadable";
        var (command, provenance) = read.Envelope;
        if (!CommandRights.May(actor, command, Bench.Value))
            return "not allowed";
        if (command is BenchCommand.Instruction && provenance.Identity == Identity.NotChecked
            && CommandRights.Needed(command) != Right.Report)
            return "not allowed";
        return (await loop.HearAsync(read.Envelope)).Recorded ? "recorded" : "refused";
    }

    private async Task LookAsync(BenchLoop loop, MemoryLog log, BenchClock clock, List<string> findings)
    {
        var look = await loop.KeepTimeAsync();
        var state = loop.State;
        foreach (var layout in Enum.GetValues<LaneLayout>())
        {
            var snapshot = JsonSerializer.Serialize(writer.Write(new BenchMoment(state, look), layout), FlatForm.Json);
            if (snapshot.Length > LongestSnapshot)
                findings.Add($"a snapshot ({layout}) of {snapshot.Length} characters");
        }

        if (UnplannedWithoutWord(state, look) is { } left)
            findings.Add(left);
        var replayed = log.Entries.Aggregate((BenchState?)null, LiveBench.Apply)!;
        if (Canonical(state) != Canonical(replayed))
            findings.Add("a replay gives another state");
        if (StateJson.Read(StateJson.Write(state)) is not { } restored || StateJson.Write(restored)
            != StateJson.Write(state))
            findings.Add("a kept state is read as another");
    }

    /// <summary>What nobody plans and nothing says so; null where there is none.</summary>
    private static string? UnplannedWithoutWord(BenchState state, BenchView look)
    {
        if (state.Phase != BatchPhase.Running || state.ClockMark is not null || !look.Alarms.IsEmpty)
            return null;
        var named = (state.Adopted?.Plan.Steps ?? []).Select(step => step.Action.Subject).OfType<RequestId>()
            .Concat((state.Adopted?.Plan.Unplaced ?? []).Select(left => left.Request))
            .Concat(look.NotPlanned.Select(left => left.Request)).Concat(look.Losses.Select(loss => loss.Request))
            .Concat(look.Questions.Select(question => question.Request).OfType<RequestId>()).ToHashSet();
        var left = state.Cartridges.Where(cartridge =>
            cartridge.Stage is CartridgeStage.Waiting or CartridgeStage.InWork && !cartridge.HeldBack
            && !named.Contains(cartridge.Id)).ToList();
        return left.Count == 0 ? null : "nothing plans a cartridge, and nothing says why: "
            + $"{left[0].Stage}, {left[0].Wanted.Request}, plan of {state.Adopted?.At}";
    }

    private static string Canonical(BenchState state) =>
        StateJson.Write(state) + string.Join(' ', state.Recorded.Select(id => id.Value).Order(StringComparer.Ordinal));

    private static List<Actor> CallersOf(House house)
    {
        var people = house.Part<Incubation.Service.Clinic.ClinicHost>().Log.People;
        Actor Person(string id, SignInWay way, ClinicDevice? on) => new Actor.Person(people.Person(new PersonId(id))!,
            new Session("s-" + id, new PersonId(id), way, on?.Id, new DeviceId("browser-" + id), Begin, Begin), on);
        ClinicDevice Device(string id, DeviceKind kind) =>
            new(new DeviceId(id), id, kind, Bench, Begin, new PersonId("ines"), false);
        Actor Key(params KeyScope[] scopes) => new Actor.Program(
            new ClinicKey(new DeviceId("key-1"), "A program", [.. scopes], null, Begin, false));
        return
        [
            new Actor.Tablet(Device("wall-1", DeviceKind.Wall), null),
            new Actor.Tablet(Device("tablet-1", DeviceKind.Tablet), null),
            new Actor.Tablet(Device("tablet-1", DeviceKind.Tablet), new PersonId("lena")),
            Person("lena", SignInWay.Pin, Device("tablet-1", DeviceKind.Tablet)),
            Person("lena", SignInWay.Password, null), Person("tomas", SignInWay.Password, null),
            Person("ines", SignInWay.Password, null), Person("ines", SignInWay.Password, null),
            Person("mara", SignInWay.Password, null), Person("mara", SignInWay.Password, null),
            .. Enum.GetValues<KeyScope>().Select(scope => Key(scope)),
            Person("ada", SignInWay.Password, null),
            Person("ada", SignInWay.Pin, Device("tablet-1", DeviceKind.Tablet)),
        ];
    }
}
