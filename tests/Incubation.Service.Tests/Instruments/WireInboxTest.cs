using Incubation.Bench;
using Incubation.Clinic.Instruments;
using Incubation.Clinic.People;
using Incubation.Model;
using Incubation.Service.Instruments;
using Incubation.Service.Tests.Support;

namespace Incubation.Service.Tests.Instruments;

/// <summary>What a person decides about results that came by wire: nothing leaves the list but by one.</summary>
public sealed class WireInboxTest
{
    [Fact]
    public async Task Enter_ForTheCartridgeThatAPersonChose_IsThatPersonsAndHeldForTheOtherSpecimen()
    {
        await using var house = await WireHouse.OpenAsync();
        var request = await house.ReadAsync("SP-1");
        await house.TakeAsync(WireHouse.Message("SP-7", "5.0"));
        var inbox = house.Inbox();
        var line = Assert.Single(inbox.For(ControlsHouse.Lena));
        Assert.Equal([request.Value], line.Choices.Select(choice => choice.Value));

        Assert.False((await inbox.EnterAsync(ControlsHouse.Lena, 1, 1, request.Value, " ")).IsDone);
        Assert.False((await inbox.EnterAsync(ControlsHouse.Lena, 1, 1, "R99", "seen")).IsDone);
        Assert.Null(house.Of(request).Result);
        Assert.True((await inbox.EnterAsync(ControlsHouse.Lena, 1, 1, request.Value, "The label was wrong.")).IsDone);

        Assert.Equal(new ReadResult.Measured("5.0", "mg/L"), house.Of(request).Result);
        Assert.Equal((ResultIdentity.Different, new PersonId("lena")),
            (house.Of(request).Status!.Identity, house.Of(request).Status!.EnteredBy));
        Assert.True(house.Of(request).IsHeld);
        Assert.Empty(inbox.For(ControlsHouse.Lena));
        Assert.False((await inbox.EnterAsync(ControlsHouse.Lena, 1, 1, request.Value, "again")).IsDone);
        Assert.NotNull(house.State.Messages[1].DoneAt);
        Assert.Equal([$"SP-7 · DA · 5.0 mg/L · entered for {request} by lena: The label was wrong."],
            Assert.Single(house.Office().LastOf(WireHouse.Reader)).Verdicts);
    }

    [Fact]
    public async Task Enter_SomebodyTypedAResultMeanwhile_TakesNothingsPlace()
    {
        await using var house = await WireHouse.OpenAsync();
        var request = await house.ReadAsync("SP-1");
        await house.TakeAsync(WireHouse.Message("SP-7", "5.0"));
        await house.House.Must(new BenchCommand.ResultEntered(request, new ShownResult.Value("7.7")));

        Assert.False((await house.Inbox().EnterAsync(ControlsHouse.Lena, 1, 1, request.Value, "seen")).IsDone);

        Assert.Equal(new ReadResult.Measured("7.7", "mg/L"), house.Of(request).Result);
        Assert.Single(house.State.Questions);
        // What a reader sends is held against it as well.
        Assert.False((await house.House.Runner.SendAsync(new BenchCommand.ResultEntered(request,
            new ShownResult.Value("8"))
        { OnlyFirst = true }, house.House.Provenance())).Recorded);
    }

    /// <summary>A number of another test, or in another unit, would be another value for the cartridge.</summary>
    [Theory]
    [InlineData("OT", "5.0", "mg/L", "No cartridge of OTHER")]
    [InlineData("XX", "5.0", "mg/L", "\"XX\" is not in the table")]
    [InlineData("DA", "5.0", "ug/L", "says ug/L, and the table says mg/L")]
    [InlineData("DA", "5.0", "", "says no unit, and the table says mg/L")]
    [InlineData("DA", "12,5", "mg/L", "cannot be read in one way")]
    [InlineData("DA", "=1+1", "mg/L", "cannot be read in one way")]
    public async Task Enter_OfAnotherTestOrUnitOrNoValue_IsNotOfferedAndRefusedWithWhatToDo(string test, string value,
        string unit, string said)
    {
        await using var house = await WireHouse.OpenAsync(link => link with
        {
            Tests = [.. link.Tests, new ReaderTest("OT", new AssayCode("OTHER"), "mg/L")],
        });
        var request = await house.ReadAsync("SP-1");
        await house.TakeAsync(WireHouse.Message("SP-1", value, test, unit));
        var inbox = house.Inbox();

        var line = Assert.Single(inbox.For(ControlsHouse.Ines));
        Assert.Empty(line.Choices);
        Assert.Contains(said, line.Bar, StringComparison.Ordinal);
        Assert.Equal(line.Bar, (await inbox.EnterAsync(ControlsHouse.Ines, 1, 1, request.Value, "seen")).Fault);
        Assert.Null(house.Of(request).Result);
    }

    /// <summary>What its own message says against a value is not an aide's to pass over, whatever else is asked.
    /// </summary>
    [Theory]
    [InlineData("SP-1", "||||W|", MatchQuestion.NotFinal)]
    [InlineData("SP-1", "||clot||F|", MatchQuestion.ReaderRemarks)]
    [InlineData("SP-7", "||clot||F|", MatchQuestion.OtherSpecimen)]
    [InlineData("SP-1", "||||?|", MatchQuestion.NotUnderstood)]
    public async Task Enter_AgainstItsOwnMessage_NeedsASupervisorAndSaysSo(string specimen, string flag,
        MatchQuestion why)
    {
        await using var house = await WireHouse.OpenAsync();
        var request = await house.ReadAsync("SP-1");
        var message = await house.TakeAsync(WireHouse.Message(specimen, "5.0")
            .Replace("||||F|", flag, StringComparison.Ordinal));
        Assert.Equal(why, WireHouse.Fate(message).Question);
        var inbox = house.Inbox();
        var line = Assert.Single(inbox.For(ControlsHouse.Lena));
        Assert.Equal((Right.Supervise, Right.Direct), (line.ToEnter, line.ToPutAside));
        Assert.Equal(Right.Supervise, Assert.Single(house.Decisions().For(ControlsHouse.Lena)).Needs);

        Assert.Contains("supervisor", (await inbox.EnterAsync(ControlsHouse.Lena, 1, 1, request.Value, "seen")).Fault,
            StringComparison.Ordinal);
        Assert.Null(house.Of(request).Result);
        Assert.True((await inbox.EnterAsync(ControlsHouse.Ines, 1, 1, request.Value, "Read anew.")).IsDone);
        Assert.NotNull(house.Of(request).Result);
    }

    [Fact]
    public async Task PutAside_AgainstAResultThatStands_NeedsASupervisor()
    {
        await using var house = await WireHouse.OpenAsync();
        var request = await house.ReadAsync("SP-1");
        await house.TakeAsync(WireHouse.Message("SP-1", "5.0").Replace("||||F|", "||||W|", StringComparison.Ordinal));
        await house.House.Must(new BenchCommand.ResultEntered(request, new ShownResult.Value("5.0")));
        var inbox = house.Inbox();

        Assert.Equal(Right.Supervise, Assert.Single(inbox.For(ControlsHouse.Lena)).ToPutAside);
        Assert.Contains("supervisor", inbox.PutAside(ControlsHouse.Lena, 1, 1, "seen").Fault, StringComparison.Ordinal);
        Assert.Single(house.State.Questions);
        Assert.True(inbox.PutAside(ControlsHouse.Ines, 1, 1, "Read anew.").IsDone);
    }

    [Fact]
    public async Task Line_AMessageThatCannotBeUnderstood_ShowsItsOrdersAndResultsAndNoPatient()
    {
        await using var house = await WireHouse.OpenAsync();
        await house.TakeAsync("P|1||||Name^Of\rO|1|SP-1\u0007\rR|1|^^^DA|5.0\rL|1|N\r");

        var line = Assert.Single(house.Inbox().For(ControlsHouse.Lena));

        Assert.Equal(["O|1|SP-1?", "R|1|^^^DA|5.0"], line.Raw);
        Assert.Equal((null, Right.Direct), (line.Bar, Assert.Single(house.Decisions().For(ControlsHouse.Lena)).Needs));
    }

    /// <summary>A specimen was named: it is not said that none was, and nothing is taken for another's.</summary>
    [Fact]
    public async Task Line_ASpecimenThatCannotBeRead_IsSaidToBeSo()
    {
        await using var house = await WireHouse.OpenAsync();
        var request = await house.ReadAsync("SP-1");
        await house.House.Must(new BenchCommand.ResultEntered(request, new ShownResult.Value("5.0")));
        var message = await house.TakeAsync(WireHouse.Message("SP\u00071", "5.0"));

        Assert.Equal((MatchQuestion.NotUnderstood, null),
            (WireHouse.Fate(message).Question, WireHouse.Fate(message).Request));
        Assert.StartsWith("the specimen's number cannot be read · DA", WireText.Of(
            Assert.Single(house.Inbox().For(ControlsHouse.Lena)).Result!), StringComparison.Ordinal);
    }

    [Fact]
    public async Task MatchAgain_AfterTheTableWasPutRight_EntersItAsTheReaders()
    {
        await using var house = await WireHouse.OpenAsync();
        var request = await house.ReadAsync("SP-1");
        await house.TakeAsync(WireHouse.Message("SP-1", "5.0", test: "NEW"));
        var inbox = house.Inbox();
        Assert.False((await inbox.MatchAgainAsync(ControlsHouse.Lena, 1, 1)).IsDone);
        var link = house.Link();
        house.Set(WireHouse.Reader, link with
        {
            Tests = [.. link.Tests, new ReaderTest("new", ControlsHouse.Da, "mg/L")],
        });

        Assert.True((await inbox.MatchAgainAsync(ControlsHouse.Lena, 1, 1)).IsDone);

        Assert.Equal((ResultIdentity.Matches, new PersonId("wire-1")),
            (house.Of(request).Status!.Identity, house.Of(request).Status!.EnteredBy));
        Assert.Empty(house.State.Questions);
        Assert.Equal([$"SP-1 · NEW · 5.0 mg/L · matched to {request} later"],
            Assert.Single(house.Office().LastOf(WireHouse.Reader)).Verdicts);
    }

    [Fact]
    public async Task PutAside_ByWhoMay_EntersNothing()
    {
        await using var house = await WireHouse.OpenAsync();
        var request = await house.ReadAsync("SP-1");
        await house.TakeAsync(WireHouse.Message("SP-7", "5.0"));
        var inbox = house.Inbox();
        var tablet = new Actor.Tablet(new ClinicDevice(new DeviceId("tablet-1"), "Tablet", DeviceKind.Tablet, null,
            BenchRig.Start, new PersonId("ines"), false), null);

        Assert.Empty(inbox.For(tablet));
        Assert.False(inbox.PutAside(tablet, 1, 1, "seen").IsDone);
        Assert.False(inbox.PutAside(null, 1, 1, "seen").IsDone);
        Assert.False(inbox.PutAside(ControlsHouse.Lena, 1, 1, "").IsDone);
        Assert.True(inbox.PutAside(ControlsHouse.Lena, 1, 1, "A trial.").IsDone);

        Assert.Null(house.Of(request).Result);
        Assert.Equal(0, inbox.Count());
        Assert.Equal(["SP-7 · DA · 5.0 mg/L · put aside by lena: A trial."],
            Assert.Single(house.Office().LastOf(WireHouse.Reader)).Verdicts);
    }

    [Fact]
    public async Task Set_WhatWasFilledIn_IsReadOnceAndEachFaultStandsByItsMember()
    {
        await using var house = await WireHouse.OpenAsync();
        var office = house.Office();
        var form = new InstrumentForm
        {
            Name = " ",
            Bench = "bench-9",
            Port = "80",
            Address = "localhost",
            Peers = "127.0.0.1, 0.0.0.0",
            Tests = "A = DA = mg/L\nB = XX",
        };
        Assert.Equal(["Address", "Bench", "Name", "Peers", "Port", "Tests"], office.Set(ControlsHouse.Ines, null, form)
            .Select(fault => fault.Member).Order(StringComparer.Ordinal));
        Assert.NotEmpty(office.Set(ControlsHouse.Lena, null, InstrumentForm.Of(house.Link())));
        // The same door for the same address would be two instruments' in one.
        Assert.Equal("", Assert.Single(office.Set(ControlsHouse.Ines, null, InstrumentForm.Of(house.Link()))).Member);

        form = InstrumentForm.Of(house.Link("192.0.2.7", "2001:db8::1"));
        Assert.Empty(office.Set(ControlsHouse.Ines, null, form));
        Assert.Equal(["192.0.2.7", "2001:db8::1"],
            ((WireTransport.Tcp)house.State.Find(Instrument.IdOf(2))!.Link.Transport).Peers);
        Assert.False(office.End(ControlsHouse.Ines, Instrument.IdOf(2), null).IsDone);
        Assert.True(office.End(ControlsHouse.Ines, Instrument.IdOf(2), "It is sold.").IsDone);
        Assert.Null(office.Find("wire-2"));
    }
}
