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
public sealed class DemoMonthTest : IDisposable
{
    /// <summary>A Thursday.</summary>
    private static readonly Instant Now = Instant.FromUtc(2026, 11, 5, 7, 12, 30);
    private static readonly BenchId Bench = new("bench-1");
    private readonly string folder = Directory.CreateTempSubdirectory("incubation-month-").FullName;

    public DemoMonthTest()
    {
        foreach (var file in Directory.GetFiles(ServerFactory.DemoFolder, "*.json"))
            File.Copy(file, Path.Combine(folder, Path.GetFileName(file)));
        var month = Path.Combine(folder, DemoMonthFile.FileName);
        File.WriteAllText(month, File.ReadAllText(month).Replace("\"workingDays\": 22", "\"workingDays\": 3", StringComparison.Ordinal).Replace("\"peakWeeksAgo\": 1", "\"peakWeeksAgo\": 0", StringComparison.Ordinal));
    }

    private static CancellationToken Cancel => TestContext.Current.CancellationToken;

    public void Dispose() => Directory.Delete(folder, recursive: true);

    [Fact]
    public async Task Open_WithMonth_PastIsWholeAndTodayIsSeeded()
    {
        await using var house = await OpenAsync("a.db");

        Assert.Empty(house.File.Log.VerifyAll().Faults);
        var runner = Assert.Single(house.Book.All);
        Assert.Equal(12, runner.Present.State.Cartridges.Length);
        Assert.Null(runner.Present.State.Outage);
        var book = new CartridgeBook(house.File, CartridgeBook.AsToldOnBench);
        var past = book.All(Bench).Where(cartridge => cartridge.Request.Value[0] == 'M').ToList();
        Assert.InRange(past.Count, 3 * 30, (3 * 90) + 40);
        var days = past.Select(cartridge => cartridge.At.InZone(house.Clinic.Facts.Zone).Date).Distinct().Order();
        Assert.Equal([new LocalDate(2026, 11, 2), new LocalDate(2026, 11, 3), new LocalDate(2026, 11, 4)], days);
        Assert.All(past, cartridge => Assert.True(cartridge.Standing is CartridgeStanding.Done or CartridgeStanding.ResultHeld or CartridgeStanding.Discarded or CartridgeStanding.Withdrawn));
        Assert.Contains(past, cartridge => cartridge.Standing == CartridgeStanding.Discarded);
        Assert.Equal(["ines", "lena", "mara", "tomas"], house.Clinic.Log.People.Persons.Keys.Select(person => person.Value).Order());
    }

    [Fact]
    public async Task Open_WithMonth_StreamsAreInOrderOfTimeAndEveryRequestIsTheClinicsToo()
    {
        await using var house = await OpenAsync("a.db");

        foreach (var stream in house.File.Log.Streams())
        {
            var arrivals = house.File.Log.ReadAll(stream).Select(row => row.Header.Arrived).ToList();
            Assert.Equal(arrivals.Order(), arrivals);
        }

        var atBench = new BenchStreams(house.File).Load(Bench).Select(entry => entry.Event).OfType<BenchEvent.RequestsAdded>().SelectMany(added => added.Requests).Select(wanted => wanted.Request.Id);
        Assert.True(atBench.ToHashSet().SetEquals(house.Clinic.Log.Requests));
        Assert.False(house.Clinic.Catalogue.HasRequestsMissingOn(Bench));
    }

    [Fact]
    public async Task Open_MonthWithAPeakOnTuesday_PatientsWaitLongerThen()
    {
        await using var house = await OpenAsync("a.db");

        var zone = house.Clinic.Facts.Zone;
        var received = house.Clinic.Log.Entries().Where(entry => entry.Event is ClinicEvent.RequestReceived)
            .ToDictionary(entry => ((ClinicEvent.RequestReceived)entry.Event).Request.Id, entry => entry.Touch.At);
        var waits = new CartridgeBook(house.File, CartridgeBook.AsToldOnBench).All(Bench).Where(cartridge => cartridge is { Kind: RequestKind.Patient, Clear.To: not null })
            .GroupBy(cartridge => cartridge.At.InZone(zone).DayOfWeek, cartridge => (cartridge.Clear.To!.Value - received[cartridge.Request]).TotalMinutes)
            .ToDictionary(day => day.Key, day => Percentile.Of([.. day.Order()], 0.9));
        Assert.All(waits.Where(day => day.Key != IsoDayOfWeek.Tuesday), day => Assert.True(waits[IsoDayOfWeek.Tuesday] > day.Value + 10));
    }

    [Fact]
    public async Task Write_CutShort_NextStartEndsWithTheSameRecord()
    {
        await using var whole = await OpenAsync("a.db");
        await using var cut = new DemoHouse(Path.Combine(folder, "b.db"), folder, Now, month: true);
        cut.Demo.OpenClinic(folder, withMonth: true);
        var half = Month().Play().First();
        foreach (var command in half.Commands.Take(10))
            cut.Clinic.Log.Record(command.Events, command.Touch);
        new BenchStreams(cut.File).Append(Bench, 0, [.. half.Entries.Take(60)]);

        cut.Demo.WriteMonth(folder);

        var upTo = Month().Play().Sum(day => day.Entries.Count);
        Assert.Equal(whole.File.Log.Note(StreamName.OfBench(Bench), upTo).Hash, cut.File.Log.Note(StreamName.OfBench(Bench), upTo).Hash);
    }

    private DemoMonth Month()
    {
        var demo = DemoClinic.Read(folder);
        var (month, demand) = DemoMonthFile.Read(folder, demo);
        return new DemoMonth(demo, month, demand, DateTimeZoneProviders.Tzdb[demo.Clinic.Zone], new LocalDate(2026, 11, 2));
    }

    private async Task<DemoHouse> OpenAsync(string name)
    {
        var house = new DemoHouse(Path.Combine(folder, name), folder, Now, month: true);
        await house.Opening.OpenAsync(Cancel);
        return house;
    }
}
