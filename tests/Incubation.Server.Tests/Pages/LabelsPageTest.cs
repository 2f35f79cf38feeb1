using Bunit;
using Incubation.Bench;
using Incubation.Records;
using Incubation.Server.Pages.Labels;
using Incubation.Service.Clinic;
using Incubation.Service.Tests.Support;
using Microsoft.AspNetCore.Components;
using Microsoft.Extensions.DependencyInjection;

namespace Incubation.Server.Tests.Pages;

/// <summary>The sheet of cartridge labels.</summary>
public sealed class LabelsPageTest : BunitContext, IAsyncLifetime
{
    private readonly string folder = Directory.CreateTempSubdirectory("incubation-labels-").FullName;
    private readonly DataFile file;
    private BenchRig? rig;

    public LabelsPageTest() => file = DataFile.Open(Path.Combine(folder, "a.db"));

    public async ValueTask InitializeAsync()
    {
        rig = await BenchRig.OpenAsync();
        Services.AddSingleton(new ClinicHost(file));
        Services.AddSingleton(rig.Book);
        ComponentFactories.AddStub<LabelRule>();
    }

    protected override async ValueTask DisposeAsyncCore()
    {
        await base.DisposeAsyncCore();
        if (rig is not null)
            await rig.DisposeAsync();
        file.Dispose();
        Directory.Delete(folder, recursive: true);
    }

    [Fact]
    public async Task Render_Batch_OneLabelForEachCartridgeThatIsNotOver()
    {
        await rig!.Must(
            new BenchCommand.AddRequests([BenchRig.Request("R1"), BenchRig.Request("R2"), BenchRig.Request("R3")]));
        await rig.Must(new BenchCommand.WithdrawRequest(new Model.RequestId("R2")));
        var page = Render<LabelsPage>(with => with.Add(p => p.Bench, BenchRig.Id.Value));
        var labels = page.FindAll(".cartridge-label");
        Assert.Equal(["SP-R1", "SP-R3"], labels.Select(label => label.QuerySelector(".label-specimen")!.TextContent));
        Assert.All(labels, label => Assert.Contains("Test assay DA", label.TextContent, StringComparison.Ordinal));
        Assert.Equal(2, labels.Select(label => label.QuerySelector("path")!.GetAttribute("d")).Distinct().Count());
    }

    [Fact]
    public async Task Render_WhatWasJustAdded_ThoseLabelsAlone()
    {
        await rig!.Must(
            new BenchCommand.AddRequests([BenchRig.Request("R1"), BenchRig.Request("R2"), BenchRig.Request("R3")]));
        Services.GetRequiredService<NavigationManager>().NavigateTo("labels?only=R3%0AR1%0AR9");
        var page = Render<LabelsPage>(with => with.Add(p => p.Bench, BenchRig.Id.Value));
        Assert.Equal(["SP-R1", "SP-R3"], page.FindAll(".label-specimen").Select(label => label.TextContent));
        Assert.Contains("2 labels, of what was just added.", page.Markup, StringComparison.Ordinal);
    }

    [Fact]
    public void Render_NoRequests_SaysWhatToDo() =>
        Assert.Contains("Add requests on the batch page first.",
            Render<LabelsPage>(with => with.Add(p => p.Bench, BenchRig.Id.Value)).Markup, StringComparison.Ordinal);
}
