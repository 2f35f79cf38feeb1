using System.Globalization;
using Bunit;
using Incubation.Clinic.People;
using Incubation.Model;
using Incubation.Server.Doors;
using Incubation.Server.Pages.Controls;
using Incubation.Service.Controls;
using Incubation.Service.Tests.Support;
using Microsoft.AspNetCore.Components;
using Microsoft.Extensions.DependencyInjection;

namespace Incubation.Server.Tests.Demo;

/// <content>The month's controls and moving mean, from their own files.</content>
public sealed partial class MonthRecountTest
{
    [Fact]
    public void ControlsFile_EachJudgement_IsJudgedAgainTheSame()
    {
        var judged = ControlRecount.Of(month.Judgements);
        Assert.True(judged.Count > 50);
        Assert.Contains(judged, one => one.Rules.Length > 0);
        Assert.All(judged, one =>
        {
            one.AssertAsInFile();
            Assert.True(one.Line.Time("entered") <= one.Line.Time("judged"));
        });
    }

    /// <summary>The file has what the chart draws and its table says: each judgement, to the last digit.</summary>
    [Fact]
    public void ControlsFile_HasEveryJudgementThatThePageShows()
    {
        var shown = month.ControlsState.Lots.OrderBy(lot => lot.Key.Value, StringComparer.Ordinal)
            .SelectMany(lot => lot.Value.Runs.Select(run => (Run: run, Lot: lot.Value))).ToList();
        Assert.Equal(shown.Count, month.Judgements.Count);
        foreach (var ((run, lot), line) in shown.Zip(month.Judgements))
        {
            Assert.Equal((run.Request.Value, run.Shown, run.Run.ToString(CultureInfo.InvariantCulture),
                    lot.IsSuperseded(run) ? "yes" : "no", KebabCase.Of(run.Verdict)),
                (line["request"], line["shown"], line["run"], line["superseded"], line["verdict"]));
            Assert.Equal(ControlText.Z(run),
                line.Number("z") is { } z ? z.ToString("+0.00;−0.00;0.00", CultureInfo.InvariantCulture) : "–");
            Assert.Equal(run.At.ToDateTimeOffset(), line.Time("takenOut"));
        }
    }

    /// <summary>The page on paper: each cell, and how many controls are in no row of it.</summary>
    [Fact]
    public void ControlsSummary_EachNumberOfItsPage_IsCountedAgain()
    {
        using var context = new BunitContext();
        context.Services.AddSingleton(month.Clinic);
        context.Services.AddSingleton(month.Clock);
        context.Services.AddSingleton(month.Times);
        context.Services.AddSingleton<ICurrentActor>(new Ines());
        context.Services.GetRequiredService<NavigationManager>().NavigateTo("controls/summary?month=2026-10");
        var page = context.Render<ControlSummaryPage>();
        string Plain(double? value, string format) =>
            value is { } known ? known.ToString(format, CultureInfo.InvariantCulture) : "–";
        Assert.Equal(Recount.Controls(month.Lines, 2026, 10).Select(one => string.Join(" | ", [one.Of,
                Plain(one.Cells[0], "0"), Plain(one.Cells[5], "0"), Plain(one.Cells[1], "G5"),
                Plain(one.Cells[2], "G5"), Plain(one.Cells[3] * 100, "0.0"), Plain(one.Cells[4], "0"),
                Plain(one.Cells[6], "0"), RulesOf(one.Rules)])),
            page.FindAll("table")[0].QuerySelectorAll("tbody tr").Select(row =>
            {
                var cells = row.Children.Select(cell => cell.TextContent.Trim()).ToList();
                return string.Join(" | ", [$"{cells[0]} {cells[1].Replace(", level", "", StringComparison.Ordinal)} "
                    + cells[2], .. cells[3..]]);
            }));
        var (held, discarded) = Recount.ControlsNotCounted(month.Lines, 2026, 10);
        Assert.True(held + discarded > 0);
        Assert.Contains("Of the controls requested in this month, "
            + $"{held} with a held result and {discarded} discarded are not in the table.", page.Markup,
            StringComparison.Ordinal);
        Assert.Equal("controls.csv", Assert.Single(page.FindAll("a[download]")).GetAttribute("href"));
    }

    /// <summary>"one-three-s 2, one-two-s 1" as the page says it, in the order of the rules.</summary>
    private static string RulesOf(string counted)
    {
        var counts = counted.Split(", ", StringSplitOptions.RemoveEmptyEntries).Select(rule => rule.Split(' '))
            .ToDictionary(rule => rule[0], rule => rule[1]);
        (string Code, string Name)[] names = [("one-two-s", "1-2s"), ("one-three-s", "1-3s"), ("two-two-s", "2-2s"),
            ("r-four-s", "R-4s"), ("four-one-s", "4-1s"), ("ten-x", "10x")];
        return counts.Count == 0 ? "–" : string.Join(", ", names.Where(rule => counts.ContainsKey(rule.Code))
            .Select(rule => $"{rule.Name} × {counts[rule.Code]}"));
    }

    private sealed class Ines : ICurrentActor
    {
        public ValueTask<Actor?> GetAsync() => new(ControlsHouse.Ines);
    }

    [Fact]
    public void Targets_CountedAgain_AreTheSame()
    {
        Assert.NotEmpty(month.Targets);
        foreach (var target in month.Targets)
        {
            var own = ControlRecount.Standing(month.Judgements)
                .Where(line => (line["assay"], line["controlLot"], line["controlLevel"])
                    == (target["assay"], target["controlLot"], target["controlLevel"])
                    && line.Has("value") && line["verdict"] != "rejected")
                .OrderBy(line => line.Time("takenOut")).Select(line => line.Number("value")!.Value).ToList();
            Assert.Equal(own.Count, target.Number("ownRuns"));
            var first = own.Take(20).ToList();
            Assert.Equal(first.Count == 20, target.Has("ownMean"));
            if (first.Count < 20)
                continue;
            Assert.Equal(first.Average(), target.Number("ownMean")!.Value, 1e-6);
            Assert.Equal(Math.Sqrt(first.Sum(value => Math.Pow(value - first.Average(), 2)) / 19),
                target.Number("ownDeviation")!.Value, 1e-6);
        }
    }

    /// <summary>
    /// From the month's patients, which the cartridges' file has: the mean after each, and the side of its limits.
    /// </summary>
    [Fact]
    public void MovingMean_CountedAgain_IsTheSame()
    {
        var reported = month.Lines.Where(line => line["assay"] == "DA" && line["kind"] == "patient"
            && line["bench"] == "bench-1" && line.Has("reported")
            && decimal.TryParse(line["result"], NumberStyles.Float, CultureInfo.InvariantCulture, out _)
            && line.Time("begun") >= Since).OrderBy(line => line.Time("readStart"))
            .Select(line => line["request"]).ToList();
        Assert.True(reported.Count > 20);
        Assert.Equal(reported, month.Means.Select(line => line["request"]));
        Assert.Equal(month.MeanLines.Count, month.Means.Count);
        var mean = 12m;
        foreach (var (line, shown) in month.Means.Zip(month.MeanLines))
        {
            mean += 0.15m * (decimal.Parse(line["value"], CultureInfo.InvariantCulture) - mean);
            Assert.Equal((double)mean, line.Number("mean")!.Value, 1e-9);
            Assert.Equal((double)mean, (double)shown.Point.Mean, 1e-9);
            Assert.Equal(mean is < 8 or > 16 ? "outside" : "inside", line["verdict"]);
        }

        Assert.Equal(2, month.Means.Select(line => line["verdict"]).Distinct().Count());
    }

    private static DateTimeOffset Since => new(2026, 10, 6, 7, 12, 30, TimeSpan.Zero);
}
