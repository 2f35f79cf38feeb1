using Incubation.Clinic.TestKit;
using Incubation.Model;
using Xunit;

namespace Incubation.Clinic.Tests;

/// <summary>Panels: a name and several assays, by events of the clinic's stream.</summary>
public sealed class PanelsStateTest
{
    private static readonly PanelName Name = new("Heart");
    private int said = 500;

    public static TheoryData<ClinicEvent, ClinicRefusal> Refused => new()
    {
        { new ClinicEvent.PanelSet(Name, [ClinicStory.A]), ClinicRefusal.PanelImpossible },
        { new ClinicEvent.PanelSet(Name, [ClinicStory.A, ClinicStory.A]), ClinicRefusal.PanelImpossible },
        { new ClinicEvent.PanelSet(Name, [ClinicStory.A, new AssayCode("nowhere")]), ClinicRefusal.UnknownAssay },
        { new ClinicEvent.PanelRemoved(Name), ClinicRefusal.UnknownPanel },
    };

    [Theory]
    [MemberData(nameof(Refused))]
    public void Record_WhatCannotBe_IsRefused(ClinicEvent happened, ClinicRefusal why) =>
        Assert.Equal(why, Assert.IsType<ClinicDecision.Refused>(Say(Begun(), happened)).Why);

    [Fact]
    public void Panel_SetAgainInOtherLetters_IsOne_AndRemovedIsGone()
    {
        var clinic = Begun();
        var codes = clinic.State.Assays.Versions.Keys.Take(2).ToList();
        Assert.IsNotType<ClinicDecision.Refused>(Say(clinic, new ClinicEvent.PanelSet(Name, [.. codes])));
        codes.Reverse();
        Assert.IsNotType<ClinicDecision.Refused>(
            Say(clinic, new ClinicEvent.PanelSet(new PanelName("heart"), [.. codes])));
        var panel = Assert.Single(clinic.State.Panels.All.Values);
        Assert.Equal("heart", panel.Name.Value);
        Assert.Equal(codes, panel.Assays);
        Assert.IsNotType<ClinicDecision.Refused>(Say(clinic, new ClinicEvent.PanelRemoved(Name)));
        Assert.Empty(clinic.State.Panels.All);
    }

    private static MemoryClinic Begun() => new(ClinicStory.Commands);

    private ClinicDecision Say(MemoryClinic clinic, ClinicEvent happened) =>
        clinic.Record(happened, StoryProvenance.Of(++said));
}
