using Incubation.Bench;
using Incubation.Clinic;
using Incubation.Model;
using Incubation.Records.Batches;
using Incubation.Records.Benches;
using Incubation.Records.Log;
using Incubation.Service.Demo;
using Incubation.Service.Tests.Support;
using NodaTime;

namespace Incubation.Server.Tests.Demo;

/// <summary>The invented past of a demo's clinic, on a span of three days.</summary>
public sealed class DemoMonthTest(DemoMonthTest.Whole whole) : IClassFixture<DemoMonthTest.Whole>
{
    /// <summary>A Thursday.</summary>
    private static readonly Instant Now = Instant.FromUtc(2026, 11, 5, 7, 12, 30);
    private static readonly BenchId Bench = new("bench-1");

    /// <summary>The demo opened once with its past; these tests only read it.</summary>
    public sealed class Whole : IAsyncLifetime
    {
        public Whole()
        {
            foreach (var file in Directory.GetFiles(ServerFactory.DemoFolder, "*.json"))
                File.Copy(file, Path.Combine(Folder, Path.GetFileName(file)));
            var month = Path.Combine(Folder, DemoMonthFile.FileName);
            File.WriteAllText(month, File.ReadAllText(month)
                .Replace("\"workingDays\": 22", "\"workingDays\": 3", StringComparison.Ordinal)
                .Replace("\"peakWeeksAgo\": 1", "\"peakWeeksAgo\": 0", StringComparison.Ordinal));
            House = new DemoHouse(Path.Combine(Folder, "a.db"), Folder, Now, month: true);
        }

        public string Folder { get; } = Directory.CreateTempSubdirectory("incubation-month-").FullName;

        internal DemoHouse House { get; }

        public async ValueTask InitializeAsync() => await House.Opening.OpenAsync(CancellationToken.None);

        public async ValueTask DisposeAsync()
        {
            await House.DisposeAsync();
            Directory.Delete(Folder, recursive: true);
        }
    }

    private readonly DemoHouse house = whole.House;
    private readonly string folder = whole.Folder;

    [Fact]
    public void Open_WithMonth_PastIsWholeAndTodayIsSeeded()
    {
        Assert.Empty(house.File.Log.VerifyAll().Faults);
        var runner = Assert.Single(house.Book.All);
        Assert.Equal(12, runner.Present.State.Cartridges.Length);
        Assert.Null(runner.Present.State.Outage);
        var book = new CartridgeProjection(house.File, CartridgeProjection.AsToldOnBench);
        var past = book.All(Bench).Where(cartridge => cartridge.Request.Value[0] == 'M').ToList();
        Assert.InRange(past.Count, 3 * 30, (3 * 90) + 40);
        var days = past.Select(cartridge => cartridge.At.InZone(house.Clinic.Facts.Zone).Date).Distinct().Order();
        Assert.Equal([new LocalDate(2026, 11, 2), new LocalDate(2026, 11, 3), new LocalDate(2026, 11, 4)], days);
        Assert.All(past, cartridge =>
            Assert.True(cartridge.Standing is CartridgeStatus.Done or CartridgeStatus.ResultHeld
                or CartridgeStatus.Discarded or CartridgeStatus.Withdrawn));
        Assert.Contains(past, cartridge => cartridge.Standing == CartridgeStatus.Discarded);
        Assert.DoesNotContain(past, cartridge => cartridge is { IsWithoutValue: true, Fate: null });
        Assert.Equal(["ines", "lena", "mara", "tomas"],
            house.Clinic.Log.People.Persons.Keys.Select(person => person.Value).Order());
    }

    [Fact]
    public void Open_WithMonth_StreamsAreInOrderOfTimeAndEveryRequestIsTheClinicsToo()
    {
        foreach (var stream in house.File.Log.Streams())
        {
            var arrivals = house.File.Log.ReadAll(stream).Select(row => row.Header.Arrived).ToList();
            Assert.Equal(arrivals.Order(), arrivals);
        }

        var atBench = new BenchStreams(house.File).Load(Bench).Select(entry => entry.Event)
            .OfType<BenchEvent.RequestsAdded>().SelectMany(added => added.Requests).Select(wanted => wanted.Request.Id);
        Assert.True(atBench.ToHashSet().SetEquals(house.Clinic.Log.Requests));
        Assert.False(house.Clinic.Catalogue.HasRequestsMissingOn(Bench));
    }

    [Fact]
    public void Open_MonthWithAPeakOnTuesday_PatientsWaitLongerThen()
    {
        var zone = house.Clinic.Facts.Zone;
        var received = house.Clinic.Log.Entries().Where(entry => entry.Event is ClinicEvent.RequestReceived)
            .ToDictionary(entry => ((ClinicEvent.RequestReceived)entry.Event).Request.Id, entry => entry.Provenance.At);
        var waits = new CartridgeProjection(house.File, CartridgeProjection.AsToldOnBench).All(Bench)
            .Where(cartridge => cartridge is { Kind: RequestKind.Patient, Clear.To: not null })
            .GroupBy(cartridge => cartridge.At.InZone(zone).DayOfWeek, cartridge =>
                (cartridge.Clear.To!.Value - received[cartridge.Request]).TotalMinutes)
            .ToDictionary(day => day.Key, day => Percentile.Of([.. day.Order()], 0.9));
        Assert.All(waits.Where(day => day.Key != IsoDayOfWeek.Tuesday),
            day => Assert.True(waits[IsoDayOfWeek.Tuesday] > day.Value + 10));
    }

    [Fact]
    public async Task Write_CutShort_NextStartEndsWithTheSameRecord()
    {
        var played = Month().Play().ToList();
        await using var cut = new DemoHouse(Path.Combine(folder, "b.db"), folder, Now, month: true);
        cut.Demo.OpenClinic(folder, withMonth: true);
        var half = played[0];
        foreach (var command in half.Commands.Take(10))
            cut.Clinic.Log.Record(command.Events, command.Provenance);
        new BenchStreams(cut.File).Append(Bench, 0, [.. half.Entries.Take(60)]);

        cut.Demo.WriteMonth(folder);

        var upTo = played.Sum(day => day.Entries.Count);
        Assert.Equal(house.File.Log.Note(StreamName.OfBench(Bench), upTo).Hash,
            cut.File.Log.Note(StreamName.OfBench(Bench), upTo).Hash);
    }

    private DemoMonth Month()
    {
        var demo = DemoClinic.Read(folder);
        var (month, demand) = DemoMonthFile.Read(folder, demo);
        return new DemoMonth(demo, month, demand, DateTimeZoneProviders.Tzdb[demo.Clinic.Zone],
            new LocalDate(2026, 11, 2));
    }
}
