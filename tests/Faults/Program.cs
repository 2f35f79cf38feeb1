using System.CommandLine;
using Incubation.Faults;
using Incubation.Faults.HeldUp;

var days = new Option<int>("--days") { Description = "Play so many days.", DefaultValueFactory = _ => 200 };
var seed = new Option<ulong>("--seed")
{
    Description = "Seed of the run: day K of seed N is always the same day.",
    DefaultValueFactory = _ => 1
};
var first = new Option<int>("--first") { Description = "The number of the first of the days: a long run in parts." };
var day = new Option<int?>("--day") { Description = "Play this one day of the run alone." };
var trace = new Option<bool>("--trace") { Description = "With --day: print what happened." };
var plain = new Option<bool>("--plain")
{ Description = "With --day: without broken clocks of tablets, wrong cards, extreme wishes and other benches." };
var kills =
    new Option<int?>("--kills")
    {
        Description = "Instead: kill the real program with signal 9 so many times under simulated aides."
    };
var results = new Option<bool>("--results")
{ Description = "With --kills: kill it while results are entered, amended and released, and look at its gates." };
var deliveries = new Option<bool>("--deliveries")
{ Description = "With --kills: kill it while a receiver that fails now and then is told of results." };
var heldUp = new Option<bool>("--held-up")
{ Description = "Instead: days on which people are called away, held against the best that was possible." };
var root =
    new RootCommand(
        "Plays bench days on which people err and machines fail, and holds the bench against what truly happened.") {
        days, seed, first, day, trace, plain, kills, results, deliveries,
        heldUp };
root.SetAction(async (said, cancel) => said.GetValue(kills) is { } times
    ? await KillCommand.RunAsync(times, said.GetValue(seed), said.GetValue(results) ? KillKind.Results
        : said.GetValue(deliveries) ? KillKind.Deliveries : KillKind.Reports, Console.Out, cancel)
    : said.GetValue(heldUp)
    ? said.GetValue(day) is { } late
        ? HeldUpRun.One(late, said.GetValue(seed), said.GetValue(trace), Console.Out)
        : HeldUpRun.Many(said.GetValue(days), said.GetValue(seed), Console.Out, said.GetValue(first))
    : said.GetValue(day) is { } one
        ? FaultRun.One(one, said.GetValue(seed), said.GetValue(trace), Console.Out, !said.GetValue(plain))
        : FaultRun.Many(said.GetValue(days), said.GetValue(seed), Console.Out, said.GetValue(first)));
return await root.Parse(args).InvokeAsync();
