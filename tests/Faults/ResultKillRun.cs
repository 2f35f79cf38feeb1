using System.Globalization;
using Incubation.Bench;
using Incubation.Clinic;
using Incubation.Model;
using Incubation.Model.Controls;
using Incubation.Records;
using Incubation.Records.Backup;
using Incubation.Records.Benches;
using Incubation.Records.Clinic;
using Incubation.TestKit;

namespace Incubation.Faults;

/// <summary>
/// The real program on a real file, killed with signal 9 while two people enter, amend and release results of controls
/// and patients over HTTP. After each start a copy of its file is held against what was acknowledged and a rule of its
/// own: which results are out, which controls are judged and how, and whether the gate stands as they say. What was
/// under way at the kill is there as a whole or not at all. A result, its judgement and the gate are three writes, and
/// hardly any kill falls between them: after each kill the file is left as one there would leave it, too.
/// </summary>
internal sealed partial class ResultKillRun : IDisposable
{
    private const string Bench = "bench-1", Lot = "DB-L2", ControlLot = "KQ";
    private const decimal Mean = 100, Deviation = 5;
    private static readonly AssayCode Assay = new("DB");

    private readonly string folder = Directory.CreateTempSubdirectory("incubation-result-kills-").FullName;
    private readonly SeededRandom random;
    private readonly Uri address = new("http://127.0.0.1:" + ProgramProcess.FreePort()
        .ToString(CultureInfo.InvariantCulture));
    private readonly KilledLog log = new();
    private readonly List<Entered> entered = [];
    private readonly KilledTalk talk;

    private ResultKillRun(ulong seed) => (random, talk) = (new SeededRandom(seed), new KilledTalk(log, Bench));

    /// <summary>A result as it must be, by what was acknowledged; and as it may be, by what was not.</summary>
    private sealed class Entered(string request, bool isControl)
    {
        public string Request { get; } = request;

        public bool IsControl { get; } = isControl;

        public (string? Value, bool IsReleased) Is { get; set; }

        public (string? Value, bool IsReleased)? MayBe { get; set; }
    }

    private string Data => Path.Combine(folder, "incubation.db");

    /// <summary>
    /// Kills the program so many times; what was wrong afterwards, how many commands were acknowledged, and at how many
    /// starts the gate stood otherwise than the controls in the file said.
    /// </summary>
    public static async Task<(IReadOnlyList<string> Faults, int Acknowledged, int Turned)> RunAsync(int kills,
        ulong seed, CancellationToken cancel)
    {
        using var run = new ResultKillRun(seed);
        await run.OnceAsync(0, cancel);
        run.SetControls();
        for (var kill = 1; kill <= kills; kill++)
            await run.OnceAsync(kill, cancel);
        await run.OnceAsync(0, cancel);
        return (run.log.Faults, run.log.Acknowledged.Count, run.turned);
    }

    /// <inheritdoc/>
    public void Dispose()
    {
        talk.Dispose();
        Directory.Delete(folder, recursive: true);
    }

    /// <summary>A start, a look at what it has made of the file, work until the kill; none where that is 0.</summary>
    private async Task OnceAsync(int kill, CancellationToken cancel)
    {
        using (var program = await KilledProgram.StartAsync(Data, address, cancel))
        {
            if (entered.Count > 0)
                LookAtACopy(kill);
            if (kill > 0)
            {
                await program.SignInAsync(cancel);
                await program.KillAmidAsync(log, random.Between(12, 40), random,
                    stop => [WorkAsync(program.Client, 1, stop), WorkAsync(program.Client, 2, stop)], cancel);
            }
            else
            {
                await program.KillAsync(cancel);
            }
        }

        using var file = DataFile.Open(Data);
        log.Compare(kill, file);
        if (kill > 0)
            CutBetweenWrites(kill, file);
    }

    /// <summary>An assay whose patients' results wait for its controls, and what these should give.</summary>
    private void SetControls()
    {
        using var file = DataFile.Open(Data);
        var clinic = ClinicLog.Open(file);
        var sheet = clinic.Assays.Latest(Assay)!.Sheet with
        {
            Controls = new ControlPolicy(2, EachDay: false, NewLot: true, NewShipment: false, AfterService: false,
                ControlGate.HoldResults),
        };
        Record(clinic, "ines", new ClinicEvent.AssayDrafted(sheet, clinic.Assays.NextRevision(Assay)));
        Record(clinic, "mara", new ClinicEvent.AssayApproved(sheet, clinic.Assays.VersionsOf(Assay) + 1));
        for (var level = 1; level <= 2; level++)
            Record(clinic, "ines", new ClinicEvent.ControlTargetSet(Assay,
                new ControlMaterial(new LotCode(ControlLot), level), new ControlTarget(Mean, Deviation),
                TargetSource.Sheet));
    }

    private void Record(ClinicLog clinic, string by, ClinicEvent happened)
    {
        if (clinic.Record(happened, talk.By(by)) is ClinicOutcome.Refused refused)
            throw new InvalidOperationException($"{happened.GetType().Name} was refused: {refused.Why}");
    }

    /// <summary>
    /// Runs cartridges as quickly as can be told: each is read far too early, so that its result is held until it is
    /// released.
    /// </summary>
    private Task WorkAsync(HttpClient client, int slot, CancellationToken cancel) =>
        talk.WorkAsync(client, slot, Next, one => DecideAsync(client, one, cancel), cancel);

    private (Entered One, string Request, object Wanted) Next()
    {
        // Without a control there is no gate to look at.
        var isControl = entered.Count == 0 || random.Between(1, 2) == 1;
        var (id, level) = (talk.NewReport().Value.Replace('K', 'Q'), random.Between(1, 2));
        return (new Entered(id, isControl), id, new
        {
            specimen = isControl ? $"{ControlLot} L{level}" : $"SQ-{id}",
            assay = Assay.Value,
            lot = Lot,
            id,
            kind = isControl ? "control" : "patient",
            controlLot = isControl ? ControlLot : null,
            controlLevel = isControl ? level : (int?)null,
        });
    }

    /// <summary>A result is entered, and then amended and released in any order.</summary>
    private async Task DecideAsync(HttpClient client, Entered one, CancellationToken cancel)
    {
        lock (entered)
            entered.Add(one);
        string[] values = ["100", "200", "<200"];
        await ChangeAsync(("100", false), "result", ("value", "100"));
        for (var times = random.Between(1, 4); times > 0; times--)
        {
            var (value, isReleased) = one.Is;
            var other = values[random.Between(0, 2)];
            if (!isReleased && random.Between(1, 3) > 1)
                await ChangeAsync((value, true), "release-result", ("words", "Seen."));
            else if (other != value)
                // Of a value that cannot be nothing was released yet.
                await ChangeAsync((other, isReleased && other[0] != '<'), "amend-result", ("value", other),
                    ("words", "Read again."), ("reason", "typed"));
        }

        async Task ChangeAsync((string?, bool) to, string kind, params (string, object)[] members)
        {
            one.MayBe = to;
            await talk.SayAsync(client, kind, [("request", one.Request), .. members], cancel);
            (one.Is, one.MayBe) = (to, null);
        }
    }

    /// <summary>Each result as it must be, each control judged by it, and the gate as they say.</summary>
    private void LookAtACopy(int kill)
    {
        var copy = Path.Combine(folder, $"copy-{talk.NewReport()}.db");
        DataBackup.Make(Data, copy);
        using var file = DataFile.Open(copy, new DataFileOptions(KeyFile: Path.Combine(folder, "record.key")));
        var clinic = ClinicLog.Open(file);
        var state = new BenchStreams(file).Load(new BenchId(Bench))
            .Aggregate((BenchState?)null, LiveBench.Apply)!;
        foreach (var one in entered)
        {
            var (cartridge, now) = (Settle(one, state, $"before kill {kill}"), one.Is);
            var isOut = now is (not null, true);
            if (cartridge.Use.IsReported != (isOut && !one.IsControl)
                || cartridge.Use.IsJudged != (isOut && one.IsControl))
                log.Add($"before kill {kill}: {one.Request} of {now} is used as {cartridge.Use}");
            if (one.IsControl && Judged(clinic, one.Request) is var judged && judged != Verdict(one.Is, isOut))
                log.Add($"before kill {kill}: control {one.Request} of {now} is judged {judged}");
        }

        var (should, stands) = GateIn(clinic, state);
        if (should != stands)
            log.Add($"before kill {kill}: the gate of {Lot} is {stands} and should be {should}");
    }

    /// <summary>What was under way is there as a whole or not at all: from now on it must be what it is.</summary>
    private Cartridge Settle(Entered one, BenchState state, string when)
    {
        var cartridge = state.Find(new RequestId(one.Request))!;
        (string?, bool) now = (cartridge.Result is ReadResult.Measured { Value: var value } ? value : null,
            cartridge.Status?.Released is not null);
        if (now != one.Is && now != one.MayBe)
            log.Add($"{when}: {one.Request} is {now}, and not {one.Is} or {one.MayBe}");
        (one.Is, one.MayBe) = (now, null);
        return cartridge;
    }

    private static ControlVerdict? Judged(ClinicLog clinic, string request) =>
        clinic.Controls.LatestOf(new RequestId(request))?.Verdict is { } verdict and not ControlVerdict.SetAside
            ? verdict : null;

    private static ControlVerdict? Verdict((string? Value, bool) one, bool isOut) => !isOut ? null
        : one.Value == "100" ? ControlVerdict.Accepted : ControlVerdict.Rejected;
}
