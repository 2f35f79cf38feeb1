using Incubation.Bench;
using Incubation.Model;
using Incubation.TestKit;
using NodaTime;

namespace Incubation.Faults;

/// <summary>
/// What befalls a day from outside: outages, full disks, clocks that are set, and what is wanted otherwise.
/// </summary>
internal sealed class Troubles(World world, IReadOnlyList<BenchRequest> wanted)
{
    private static readonly Duration Span = Duration.FromMinutes(90);

    /// <summary>Puts the day's troubles on the agenda.</summary>
    public void PutDown()
    {
        var failures = world.Recipe.Failures;
        foreach (var tablet in world.Tablets)
            Often(failures.OutagesPerHour, () => LoseNetwork(tablet));
        Often(failures.FullPerHour, FillDisk);
        Often(failures.ClockSetPerHour, SetClock);
        foreach (var aide in world.Aides)
            Often(failures.AwayPerHour, () => aide.StepAway(Duration.FromSeconds(world.Between(30, 600))));
        Often(failures.OutOfUsePerHour, PutOutOfUse);
        Often(failures.TooWarmPerHour, WarmUp);
        if (failures.HandsLeave && world.Aides.Length > 1)
            Later(0, _ => LeaveAndComeBack());
        if (failures.IntakePauses)
            Later(0, _ => PauseIntake());
        if (failures.NotReady)
            Later(0, _ => HoldBack());
        for (var n = 1; n <= failures.MoreRequests; n++)
            Later(n, Add);
        for (var n = 1; n <= failures.Withdrawals; n++)
            Later(n, _ => Withdraw());
    }

    /// <summary>Puts down what the day holds beside its recipe.</summary>
    public void PutDownExtremes()
    {
        for (var n = 1; n <= world.Extremes.Wishes; n++)
        {
            var which = n;
            world.Expect(1);
            world.Agenda.At(RandomDays.Start + Duration.FromSeconds(world.Extra(30, 2400)), () => Wish(which));
        }
    }

    /// <summary>
    /// What only a log of an earlier program holds, and what lies at the edge of what is let in: times and lengths with
    /// which no plan, or no sensible one, can be made.
    /// </summary>
    private void Wish(int number)
    {
        world.Count("extreme wish");
        var like = wanted[world.Extra(0, wanted.Count - 1)];
        var request = like.Request with
        {
            Id = new RequestId($"E{number}"),
            Specimen = new SpecimenId($"SP-E{number}"),
            Ready = world.Now,
            Due = null,
            LoadBy = null,
            After = [],
        };
        var (early, late) = (Instant.FromUnixTimeTicks(0), Instant.FromUtc(9999, 12, 31, 23, 59, 59));
        var one = world.Extra(0, 10) switch
        {
            0 => like with { Request = request with { Ready = world.Now + Duration.FromDays(15) } },
            1 => like with { Request = request with { Ready = Instant.FromUtc(2262, 4, 12, 0, 0) } },
            2 => like with { Request = request with { Ready = late, Priority = Priority.Urgent } },
            3 => like with { Request = request with { Ready = early } },
            4 => like with { Request = request with { Due = early, Priority = Priority.Urgent } },
            5 => like with { Request = request with { Due = late } },
            6 => like with { Request = request with { LoadBy = early } },
            7 => like with { Request = request with { LoadBy = late } },
            8 => like with
            {
                Request = request,
                Assay = like.Assay with { Clear = Duration.FromDays(100) },
                AssayVersion = 100 + number,
            },
            9 => like with { Request = request with { Ready = late, After = [like.Request.Id] } },
            _ => null,
        };
        BenchCommand said = one is null
            ? new BenchCommand.ChangeReady(like.Request.Id, Instant.FromUtc(2262, 4, 12, 0, 0))
            : new BenchCommand.AddRequests([one]);
        world.Tablets[0].Say(said, world.Tablets[0].Time, _ => world.Expect(-1));
    }

    /// <summary>
    /// Someone who knows the time looks at a server that doubts its own, and puts right what is wrong.
    /// </summary>
    public static void LookAtClock(World world) => world.Agenda.In(Duration.FromSeconds(world.Between(30, 600)), () =>
    {
        if (world.IsOver || !world.Server.IsUp || world.Server.Guard?.Doubt is null)
            return;
        var ahead = world.Server.Time - world.Now;
        world.Machine.SetAhead = Duration.Zero;
        foreach (var bench in world.Clinic)
            if (bench != world)
                bench.Watch.ClockSet();
        if (ahead > Duration.FromSeconds(5) || ahead < Duration.FromSeconds(-5))
        {
            world.Server.Die("restart with the right time", Duration.FromSeconds(5));
            return;
        }

        world.Server.ConfirmTime();
        LookAtClock(world);
    });

    private void Often(double perHour, Action what)
    {
        var at = RandomDays.Start;
        while (perHour > 0)
        {
            at += Duration.FromSeconds(-Math.Log(1 - (world.Between(0, 999) / 1000.0)) * 3600 / perHour);
            if (at - RandomDays.Start > Span)
                return;
            world.Agenda.At(at, what);
        }
    }

    private void Later(int number, Action<int> what)
    {
        world.Expect(1);
        world.Agenda.At(RandomDays.Start + Duration.FromSeconds(world.Between(60, 2400)), () => what(number));
    }

    private void LoseNetwork(Tablet tablet)
    {
        world.Count("network outage");
        tablet.NetworkDownUntil = world.Now + Duration.FromSeconds(world.Between(0, 9) == 0
            ? world.Between(120, 900) : world.Between(3, 90));
        world.Trace($"{tablet.Device} has no network until {Words.Of(tablet.NetworkDownUntil)}");
    }

    private void FillDisk()
    {
        world.Count("disk full");
        world.Trace("the disk is full");
        foreach (var bench in world.Clinic)
            bench.Disk.Full = true;
        world.Agenda.In(Duration.FromSeconds(world.Between(5, 240)), () =>
        {
            foreach (var bench in world.Clinic)
                bench.Disk.Full = false;
        });
    }

    private void Say(BenchCommand command, Action? answered = null) => world.Tablets[0]
        .Say(command, world.Tablets[0].Time, _ => answered?.Invoke());

    private Duration AWhile() => Duration.FromSeconds(world.Between(20, 900));

    /// <summary>The places that cannot be used while something is out of use.</summary>
    public static CartridgePlace[] Places(BenchSetup bench, BenchResource resource) => resource switch
    {
        BenchResource.Slot slot => [new CartridgePlace.InSlot(slot.Number)],
        BenchResource.Reader reader => [new CartridgePlace.InReader(reader.Number)],
        BenchResource.Incubator =>
            [.. Enumerable.Range(1, bench.Slots).Select(n => new CartridgePlace.InSlot(new SlotNumber(n)))],
        _ => [],
    };

    private void PutOutOfUse()
    {
        var bench = world.Recipe.Day.Bench;
        BenchResource resource = world.Between(0, 9) switch
        {
            < 5 when bench.Slots > 0 => new BenchResource.Slot(new SlotNumber(world.Between(1, bench.Slots))),
            < 9 => new BenchResource.Reader(new ReaderNumber(world.Between(1, bench.Readers))),
            _ => new BenchResource.Incubator(),
        };
        var places = Places(bench, resource);
        var (kind, number) = resource.Parts;
        world.Count("out of use: " + kind);
        world.Trace($"{kind} {number} cannot be used");
        world.Truth.Broken.UnionWith(places);
        var length = AWhile();
        var open = world.Between(0, 1) == 0;
        Say(new BenchCommand.PutOutOfUse(resource, open ? null : length, "fault"));
        world.Agenda.In(length, () =>
        {
            world.Truth.Broken.ExceptWith(places);
            Say(new BenchCommand.PutBackInUse(resource));
        });
    }

    private void WarmUp()
    {
        world.Count("incubator outside its tolerance");
        var assay = world.Recipe.Day.Assays[0].Code;
        var rule = new TemperatureRule(assay, Duration.FromMinutes(2));
        Say(
            new BenchCommand.SetIncubator(new IncubatorRule(new Celsius(25), new Celsius(1), [rule])),
            () => Say(new BenchCommand.TemperatureMeasured(new Celsius(28))));
        world.Agenda.In(AWhile(), () => Say(new BenchCommand.TemperatureMeasured(new Celsius(25))));
    }

    private void LeaveAndComeBack()
    {
        var last = world.Aides[^1];
        world.Count("hands leave and come back");
        Say(new BenchCommand.ChangeHands(world.Aides.Length - 1), () =>
        {
            last.HasLeft = true;
            world.Agenda.In(AWhile(), () => Say(new BenchCommand.ChangeHands(world.Aides.Length), () =>
            {
                last.HasLeft = false;
                world.Expect(-1);
            }));
        });
    }

    private void PauseIntake()
    {
        world.Count("intake paused");
        Say(new BenchCommand.PauseIntake(true));
        world.Agenda.In(AWhile(), () => Say(new BenchCommand.PauseIntake(false), () => world.Expect(-1)));
    }

    private void HoldBack()
    {
        world.Count("specimen not ready after all");
        var id = wanted[world.Between(0, wanted.Count - 1)].Request.Id;
        world.Truth.NotReady.Add(id);
        Say(new BenchCommand.ChangeReady(id, null));
        world.Agenda.In(AWhile(), () =>
        {
            world.Truth.NotReady.Remove(id);
            Say(new BenchCommand.ChangeReady(id, world.Tablets[0].Time), () => world.Expect(-1));
        });
    }

    private void SetClock()
    {
        world.Count("clock set");
        var by = Duration.FromMilliseconds(world.Between(0, 1) == 0
            ? world.Between(-4000, 4000) : world.Between(-3600_000, 3600_000));
        world.Machine.SetAhead += by;
        foreach (var bench in world.Clinic)
            bench.Watch.ClockSet();
        world.Trace($"the machine's clock is set by {Words.Signed(by)} s");
        if (world.Recipe.Failures.ClockWrongAfterOutage)
            world.Agenda.In(Duration.FromSeconds(world.Between(0, 120)),
                () => world.Server.Die("power cut", world.DownTime()));
    }

    private void Add(int number)
    {
        world.Count("request added");
        var like = wanted[world.Between(0, wanted.Count - 1)];
        var urgent = world.Between(0, 1) == 0;
        var request = like.Request with
        {
            Id = new RequestId($"X{number}"),
            Specimen = new SpecimenId($"SP-X{number}"),
            Ready = world.Now,
            Priority = urgent ? Priority.Urgent : Priority.Routine,
            Due = null,
            LoadBy = null,
            After = [],
        };
        world.Tablets[0].Say(new BenchCommand.AddRequests([like with { Request = request }]), world.Tablets[0].Time,
            _ => world.Expect(-1));
    }

    private void Withdraw()
    {
        world.Count("request withdrawn");
        var one = wanted[world.Between(0, wanted.Count - 1)];
        world.Tablets[0]
            .Say(new BenchCommand.WithdrawRequest(one.Request.Id), world.Tablets[0].Time, _ => world.Expect(-1));
    }
}
