using Incubation.Bench;
using Incubation.Clinic;
using Incubation.Clinic.People;
using Incubation.Clinic.Record;
using Incubation.Records.Batches;
using Incubation.Service.Record;
using Incubation.Service.Tests.Support;
using NodaTime;

namespace Incubation.Service.Tests.Record;

/// <summary>Times and searches of the record, in words.</summary>
public sealed class RecordWordsTest
{
    private static readonly DateTimeZone Berlin = DateTimeZoneProviders.Tzdb["Europe/Berlin"];

    /// <summary>
    /// Clocks in Berlin went from 03:00 +02:00 back to 02:00 +01:00 on 2026-10-25, at 01:00 UTC (IANA time zone
    /// database).
    /// </summary>
    [Fact]
    public void At_HourThatComesTwice_EachTimeCarriesItsOffset()
    {
        var (first, second) = (Instant.FromUtc(2026, 10, 25, 0, 30), Instant.FromUtc(2026, 10, 25, 1, 30));
        var clock = new RecordClock(Berlin, [first, second]);
        Assert.Null(clock.Offset);
        Assert.Equal("02:30:00 +02:00", clock.At(first));
        Assert.Equal("02:30:00 +01:00", clock.At(second));
        Assert.Equal("02:30:00 +02:00 to 02:30:00 +01:00", clock.Between(first, second));
        Assert.Equal("2026-10-25 02:30:00 +01:00", RecordClock.Full(second, Berlin));
    }

    [Fact]
    public void At_OneOffset_StandsOnceForAll()
    {
        var at = Instant.FromUtc(2026, 3, 2, 8, 0);
        var clock = new RecordClock(Berlin, [at, at + Duration.FromHours(20)]);
        Assert.Equal(Offset.FromHours(1), clock.Offset);
        Assert.Equal("09:00:00", clock.At(at));
        Assert.Equal("2026-03-03 05:00:00", clock.At(at + Duration.FromHours(20)));
        Assert.Equal("09:00:00", clock.Between(at, at + Duration.FromMilliseconds(10)));
        Assert.Equal("", clock.At(null));
    }

    [Fact]
    public void Read_Days_AreTheClinicsWholeDays()
    {
        var (query, from, to) = new RecordSearch(From: "2026-10-25", To: "2026-10-25").Read(Berlin);
        Assert.Equal((null, null), (from, to));
        // The day on which clocks are set back has 25 hours.
        Assert.Equal(Duration.FromHours(25), query.To!.Value - query.From!.Value);
        Assert.Equal(Instant.FromUtc(2026, 10, 24, 22, 0), query.From);
    }

    [Theory]
    [InlineData("yesterday", null, true, false)]
    [InlineData(null, "2026-13-01", false, true)]
    [InlineData("2026-03-02", "2026-03-01", false, true)]
    [InlineData("9999-01-01", null, true, false)]
    public void Read_NoDays_SaidBesideTheField(string? from, string? to, bool fromFault, bool toFault)
    {
        var (_, first, last) = new RecordSearch(From: from, To: to).Read(Berlin);
        Assert.Equal((fromFault, toFault), (first is not null, last is not null));
    }

    [Fact]
    public void Address_WhatIsLookedFor_IsReadBack()
    {
        var search = new RecordSearch("a&b=c", "L/1", null, null, "bench-1", "lot", 3);
        Assert.Equal("record?specimen=a%26b%3Dc&lot=L%2F1&bench=bench-1&order=lot&page=3", search.Address);
        Assert.Equal((CartridgeOrder.Lot, false), (search.By, search.IsDescending));
        var turned = search.OrderedBy(CartridgeOrder.Lot);
        Assert.Equal((CartridgeOrder.Lot, true, 1), (turned.By, turned.IsDescending, turned.Page));
        Assert.Equal((CartridgeOrder.Time, true), (new RecordSearch().By, new RecordSearch().IsDescending));
        Assert.Equal(CartridgeOrder.Time, new RecordSearch(Order: "17; DROP").By);
        Assert.Equal(100, new RecordSearch(Page: 3).Read(Berlin).Query.Skip);
    }

    /// <summary>What stands in a batch's part of the stream has words, whatever it is.</summary>
    [Fact]
    public async Task Of_EveryEvent_HasWords()
    {
        await using var rig = await BenchRig.OpenAsync();
        var words = new BenchEventText(rig.State, new RecordClock(Berlin, [BenchRig.Start]), PeopleState.Empty);
        var never = new[]
        {
            typeof(BenchEvent.BenchOpened), typeof(BenchEvent.BatchClosed), typeof(BenchEvent.PlanAdopted),
                typeof(BenchEvent.Mixed), typeof(BenchEvent.Loaded), typeof(BenchEvent.ReadStarted),
            typeof(BenchEvent.Cleared), typeof(BenchEvent.Discarded), typeof(BenchEvent.ResultEntered),
                typeof(BenchEvent.StepNotBegun), typeof(BenchEvent.SaidAgain), typeof(BenchEvent.AlarmAcknowledged),
            typeof(BenchEvent.CheckpointKept),
        };
        foreach (var type in typeof(BenchEvent).GetNestedTypes()
            .Where(type => !type.IsAbstract && type.IsSubclassOf(typeof(BenchEvent))).Except(never))
        {
            var happened = (BenchEvent)Blank(type);
            Assert.NotEqual(type.Name, words.Of(happened));
        }
    }

    /// <summary>Nobody need have locked a tablet, and a result or an acknowledgement is no undone report.</summary>
    [Fact]
    public async Task Of_IdentityNotCheckedOfWhatIsNoStep_SaysWhatItMayBe()
    {
        await using var rig = await BenchRig.OpenAsync();
        var words = new BenchEventText(rig.State, new RecordClock(Berlin, [BenchRig.Start]), PeopleState.Empty);
        Assert.Equal(RecordWords.HappenUncheckedOther, words.Of(new BenchEntry(new BenchEvent.IdentityNotChecked(),
            Of(new Model.PersonId("ines")))));
    }

    [Theory]
    [InlineData(null, "R1 loaded in slot 2 · the tablet was locked")]
    [InlineData("lena", "R1 loaded in slot 2 · sent by lena")]
    public void Of_LateReportOfANameNotChecked_SaysWhyNot(string? sender, string sentence)
    {
        var report = new ClinicEvent.ReportedAfterClose(new Model.BenchId("bench-1"), 1, new Model.RequestId("R1"),
            """{"kind":"loaded","slot":2}""", false, null, sender is null ? null : new Model.PersonId(sender));
        Assert.Equal(sentence, LateReportText.Of(new LateReport(1, report, Of(new Model.PersonId("ines"))), [],
            PeopleState.Empty));
    }

    private static Provenance Of(Model.PersonId person) => new(new Model.ReportId("said"), BenchRig.Start,
        BenchRig.Start, person, new Model.DeviceId("tablet-1"));

    /// <summary>A value with nothing in it: enough to be named.</summary>
    private static object Blank(Type type) =>
        Activator.CreateInstance(type,
            [.. type.GetConstructors().Single(one => !one.IsFamily).GetParameters()
                .Select(parameter => Part(parameter.ParameterType))])!;

    private static object? Part(Type type) =>
        Nullable.GetUnderlyingType(type) is not null || type == typeof(string) ? null
        : type.IsGenericType ? type.GetField("Empty")?.GetValue(null)
        : type == typeof(Model.ReaderNumber) ? new Model.ReaderNumber(1)
        : type == typeof(Model.RequestId) ? new Model.RequestId("R1")
        : type == typeof(Model.LotCode) ? new Model.LotCode("L1")
        : type == typeof(ReadResult) ? new ReadResult.NoValue("E-7")
        : type == typeof(Model.SpecimenId) ? new Model.SpecimenId("SP-1")
        : type == typeof(Model.AssayCode) ? new Model.AssayCode("A")
        : type == typeof(ReadinessKey) ? ReadinessKey.Incubator
        : type == typeof(Model.BenchResource) ? new Model.BenchResource.Reader(new Model.ReaderNumber(1))
        : type == typeof(Model.StepAction) ? new Model.StepAction.Mix(new Model.RequestId("R1"))
        : type == typeof(Model.PersonId) ? new Model.PersonId("lena")
        : type.IsValueType ? Activator.CreateInstance(type)
        : Blank(type);
}
