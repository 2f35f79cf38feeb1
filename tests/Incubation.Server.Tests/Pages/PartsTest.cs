using Bunit;
using Incubation.Server.Parts;
using Incubation.Service.Text;
using Microsoft.AspNetCore.Components;

namespace Incubation.Server.Tests.Pages;

public sealed class PartsTest : BunitContext
{
    [Fact]
    public void Field_WithFault_LinkedForThoseWhoHear()
    {
        var field = Render<Field>(with => with.Add(f => f.Id, "a").Add(f => f.Label, "Lot")
            .Add(f => f.Fault, "Choose one.").Add(f => f.Help, "On the box."));

        var input = field.Find("input");
        Assert.Equal("true", input.GetAttribute("aria-invalid"));
        Assert.Equal("a-fault a-help", input.GetAttribute("aria-describedby"));
        Assert.Equal("Choose one.", field.Find("#a-fault").TextContent);
        Assert.Equal("a", field.Find("label").GetAttribute("for"));
    }

    [Fact]
    public void Field_Understood_StandsBesideItAndIsLinked()
    {
        var field = Render<Field>(with => with.Add(f => f.Id, "a").Add(f => f.Label, "Load").Add(f => f.Value, "20")
            .Add(f => f.Understand, text => TypedLength.Understood(text, LengthUnit.Seconds)));

        Assert.Equal("= 20 s", field.Find("output#a-understood").TextContent);
        Assert.Equal("a-understood", field.Find("input").GetAttribute("aria-describedby"));
        Assert.Equal("a", field.Find("output").GetAttribute("for"));
    }

    [Fact]
    public void Field_WhileSomebodyTypes_SaysWhatIsUnderstood()
    {
        var field = Render<Field>(with => with.Add(f => f.Id, "a").Add(f => f.Label, "Load")
            .Add(f => f.Understand, text => TypedLength.Understood(text, LengthUnit.Seconds)));
        Assert.False(field.Find("input").HasAttribute("aria-describedby"));

        field.Find("input").Input("3");
        Assert.Equal("= 3 s", field.Find("#a-understood").TextContent);
        field.Find("input").Input("3 m");
        Assert.Equal("= 3 min", field.Find("#a-understood").TextContent);
        Assert.Equal("a-understood", field.Find("input").GetAttribute("aria-describedby"));
        field.Find("input").Input("3 mx");
        Assert.Equal("", field.Find("#a-understood").TextContent);
        Assert.False(field.Find("input").HasAttribute("aria-describedby"));

        // What the page puts there is what is looked at.
        field.Render(with => with.Add(f => f.Value, "50"));
        Assert.Equal("= 50 s", field.Find("#a-understood").TextContent);
    }

    [Fact]
    public void Field_OfWhichNothingIsSaid_ListensToNoKey()
    {
        var field = Render<Field>(with => with.Add(f => f.Id, "a").Add(f => f.Label, "Lot"));

        Assert.Throws<MissingEventHandlerException>(() => field.Find("input").Input("X"));
    }

    [Fact]
    public void Notice_OfTroubleAndNews_SaysTheTroubleAlone()
    {
        var notice = Render<Notice>(with => with.Add(n => n.Trouble, "Not saved.").Add(n => n.News, "Saved."));

        Assert.Equal("Not saved.", notice.Find("[role=alert]").TextContent.Trim());
        Assert.Equal("", notice.Find("[role=status]").TextContent.Trim());
    }

    [Fact]
    public void Field_WithoutFault_NothingClaimed()
    {
        var input = Render<Field>(with => with.Add(f => f.Id, "a").Add(f => f.Label, "Lot")).Find("input");

        Assert.False(input.HasAttribute("aria-invalid"));
        Assert.False(input.HasAttribute("aria-describedby"));
    }

    [Fact]
    public void Field_Typed_Told()
    {
        string? told = null;
        var field = Render<Field>(with => with.Add(f => f.Id, "a").Add(f => f.Label, "Lot")
            .Add(f => f.ValueChanged, EventCallback.Factory.Create<string?>(this, value => told = value)));

        field.Find("input").Change("X1");

        Assert.Equal("X1", told);
    }

    [Fact]
    public void Field_Options_ListWithTheChosenOne()
    {
        var field = Render<Field>(with => with.Add(f => f.Id, "a").Add(f => f.Label, "Lot").Add(f => f.Value, "2")
            .Add(f => f.Options, [new FieldChoice("1", "one"), new FieldChoice("2", "two")]));

        Assert.Equal("2", field.Find("select").GetAttribute("value"));
        Assert.Equal(2, field.FindAll("option").Count);
    }

    [Fact]
    public void DataTable_Empty_SaysSo()
    {
        var table = Render<DataTable<string>>(with => with.Add(t => t.Items, []).Add(t => t.Caption, "Things")
            .Add(t => t.Empty, "No things yet."));

        Assert.Equal("No things yet.", table.Find("p.empty").TextContent);
        Assert.Empty(table.FindAll("table"));
    }

    [Fact]
    public void DataTable_Rows_CaptionAndEachRow()
    {
        var table = Render<DataTable<string>>(with => with.Add(t => t.Items, ["a", "b"]).Add(t => t.Caption, "Things")
            .Add(t => t.Empty, "None.")
            .Add(t => t.Row, item => builder => builder.AddMarkupContent(0, $"<td>{item}</td>")));

        Assert.Equal("Things", table.Find("caption").TextContent);
        Assert.Equal(["a", "b"], table.FindAll("tbody td").Select(cell => cell.TextContent));
    }

    [Fact]
    public async Task ConfirmDialog_Confirmed_ToldOnceAndClosed()
    {
        var module = JSInterop.SetupModule("./Parts/Dialog.razor.js");
        module.SetupVoid("show", _ => true).SetVoidResult();
        var close = module.SetupVoid("close", _ => true).SetVoidResult();
        var told = 0;
        var dialog = Render<ConfirmDialog>(with => with.Add(d => d.Id, "q").Add(d => d.Title, "Sure?")
            .Add(d => d.Confirm, "Yes")
            .Add(d => d.Confirmed, EventCallback.Factory.Create(this, () => told++)));
        Assert.Empty(dialog.FindAll("h2"));

        await dialog.InvokeAsync(dialog.Instance.Open);
        Assert.Equal("Sure?", dialog.Find("#q-title").TextContent);
        await dialog.Find("button.button-primary").ClickAsync(new());

        Assert.Equal(1, told);
        Assert.Single(close.Invocations);
    }
}
