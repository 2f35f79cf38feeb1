using CsCheck;
using Incubation.Model;
using Incubation.Service.Assays;
using NodaTime;

namespace Incubation.Service.Tests.Assays;

/// <summary>What a form says becomes a sheet, or a sentence beside the field that is wrong.</summary>
public sealed class SheetReadingTest
{
    private static Dictionary<string, string?> Whole()
    {
        var texts = SheetFields.Fresh();
        foreach (var field in SheetFields.All.Where(field => field.IsLength))
            texts[field.Member] = "0:30";
        foreach (var (member, text) in new (string, string)[]
        {
            ("Code", "X1"), ("Name", "Invented assay"), ("Analyte", "Invented analyte"),
                ("Instructions", "Revision 3"), ("Unit", "mg/L"),
            ("Decimals", "1"), ("MeasuringFrom", "0.5"), ("MeasuringTo", "200"), ("CriticalTo", "150"),
                ("SpecimenTypes", "serum, plasma"),
            ("SpecimenVolume", "10"), ("WarmthSet", "25"), ("WarmthTolerance", "1"),
                ("LoadText", "73 µL, <b>no</b> bubbles"),
        })
            texts[member] = text;
        return texts;
    }

    [Fact]
    public void Read_WholeForm_SaysWhatStandsInIt()
    {
        var (sheet, faults) = SheetReading.Read(Whole());
        Assert.Empty(faults);
        Assert.Equal("X1", sheet!.Assay.Code.Value);
        Assert.Equal(Duration.FromSeconds(30), sheet.Assay.Incubation);
        Assert.Equal(new ResultRule(1, new ValueRange(0.5m, 200), ValueRange.Open, new ValueRange(null, 150)),
            sheet.Results);
        Assert.Equal(["serum", "plasma"], sheet.Specimens.Types);
        Assert.Equal(new WarmthRule(new Celsius(25), new Celsius(1), Duration.FromSeconds(30)), sheet.Warmth);
        Assert.Equal(new ControlPolicy(2, true, true, false, true, ControlGate.Wait), sheet.Controls);
        Assert.Equal("73 µL, <b>no</b> bubbles", sheet.Texts.Load);
    }

    [Fact]
    public void Read_WhatASheetSays_GivesTheSameSheet()
    {
        var sheet = SheetReading.Read(Whole()).Sheet!;
        Assert.True(sheet.SaysTheSame(SheetReading.Read(SheetFields.TextsOf(sheet)).Sheet));
        Assert.Empty(SheetFields.Differences(sheet, sheet));
    }

    [Theory]
    [InlineData("Code", "", "Required")]
    [InlineData("Name", "", "Required")]
    [InlineData("Mix", "", "Required")]
    [InlineData("Mix", "50 pieces", "0:50")]
    [InlineData("Mix", "0:75", "0:50")]
    [InlineData("Mix", "-0:10", "0:50")]
    [InlineData("Mix", "99999:59:59", "at most a year")]
    [InlineData("MixShortest", "0:31", "longer than the allowed time")]
    [InlineData("Decimals", "1.5", "whole number")]
    [InlineData("Decimals", "7", "whole number")]
    [InlineData("MeasuringTo", "0.4", "below the start")]
    [InlineData("MeasuringTo", "1e999", "plain number")]
    [InlineData("MeasuringTo", "1,500.5", "two ways")]
    [InlineData("MeasuringTo", "2٠0", "0 to 9")]
    [InlineData("MeasuringTo", "'; DROP TABLE Assays; --", "plain number")]
    [InlineData("WarmthTolerance", "", "0 or more")]
    [InlineData("WarmthSet", "400", "4 to 60")]
    [InlineData("SpecimenVolume", "0", "µL")]
    [InlineData("Unit", "mmol/12h", "UCUM")]
    [InlineData("Unit", "[iIU]/L", "UCUM")]
    [InlineData("Loinc", "1988-4", "check digit")]
    [InlineData("Loinc", "CRP", "up to seven digits")]
    [InlineData("LoadText", "a\u0007b", "printable")]
    [InlineData("Name", "Assay \u202Egnissim", "printable")]
    [InlineData("Analyte", "a\u2066b", "printable")]
    public void Read_OneFieldWrong_SaysSoBesideItAlone(string member, string text, string sentence)
    {
        var texts = Whole();
        texts[member] = text;
        var (sheet, faults) = SheetReading.Read(texts);
        Assert.Null(sheet);
        var fault = Assert.Single(faults);
        Assert.Equal(member, fault.Member);
        Assert.Contains(sentence, fault.Sentence, StringComparison.Ordinal);
    }

    [Fact]
    public void Read_Garbage_NeverThrows() =>
        Gen.Select(Gen.Int[0, SheetFields.All.Count - 1].Select(at => SheetFields.All[at].Member), Gen.String)
            .Sample((member, text) =>
        {
            var texts = Whole();
            texts[member] = text;
            var (sheet, faults) = SheetReading.Read(texts);
            Assert.Equal(sheet is null, faults.Count > 0);
        });

    /// <summary>What instructions say, copied as it stands there.</summary>
    [Fact]
    public void Read_AsPeopleWriteIt_IsUnderstood()
    {
        var texts = Whole();
        foreach (var (member, text) in new (string, string)[]
        {
            ("Mix", "20 s"), ("MixShortest", "12"), ("MixToLoad", "2 min"), ("Incubation", "15"),
                ("ReadWindow", "3 minutes"), ("SpecimenAge", "24 h"), ("MeasuringFrom", "0,5"), ("CriticalTo", "5,0"),
        })
            texts[member] = text;
        var (sheet, faults) = SheetReading.Read(texts);
        Assert.Empty(faults);
        Assert.Equal((20, 12, 120), (sheet!.Assay.Mix.TotalSeconds, sheet.Assay.MixShortest.TotalSeconds,
            sheet.Assay.MixToLoad.TotalSeconds));
        Assert.Equal((15, 3), (sheet.Assay.Incubation.TotalMinutes, sheet.Assay.ReadWindow.TotalMinutes));
        Assert.Equal(Duration.FromHours(24), sheet.Specimens.LongestAge);
        Assert.Equal((0.5m, 5.0m), (sheet.Results.Measuring.From, sheet.Results.Critical.To));
        Assert.Equal(("= 20 s", null), SheetFields.Find("Mix").Look("20 s"));
        Assert.Equal(("= 15 min", null), SheetFields.Find("Incubation").Look("15"));
        Assert.NotNull(SheetFields.Find("CriticalTo").Look("1,000").Fault);
    }

    [Fact]
    public void Read_AFileWithAPlainNumberForALength_AsksForItsUnit()
    {
        var texts = Whole();
        texts["Incubation"] = "15";
        Assert.Equal("Incubation", Assert.Single(SheetReading.Read(texts, isFile: true).Faults).Member);
    }

    /// <summary>A plain assay asks for nothing but what a plan and a result need.</summary>
    [Fact]
    public void Fresh_WithNineFieldsFilledIn_IsASheet()
    {
        var texts = SheetFields.Fresh();
        foreach (var (member, text) in new (string, string)[]
        {
            ("Code", "X1"), ("Name", "Invented assay"), ("Analyte", "Invented analyte"), ("Unit", "mg/L"),
                ("Instructions", "Revision 3"), ("MixToLoad", "2"), ("Incubation", "15"), ("ReadWindow", "3"),
                ("Read", "20"),
        })
            texts[member] = text;
        Assert.Empty(SheetReading.Read(texts).Faults);
    }

    [Fact]
    public void Copy_OfASheet_LeavesOutWhatNamesIt()
    {
        var sheet = SheetReading.Read(Whole()).Sheet!;
        var copy = SheetFields.Copy(sheet);
        Assert.Equal(
            ["Code", "Name", "Analyte", "Instructions"],
            SheetFields.All.Where(field => field.Required && string.IsNullOrEmpty(copy[field.Member]))
                .Select(field => field.Member));
        Assert.Equal("0:30", copy["Incubation"]);
    }
}
