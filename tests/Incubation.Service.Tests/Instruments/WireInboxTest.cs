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
