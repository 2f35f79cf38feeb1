using System.CommandLine;
using Incubation.Hostile;

var first = new Option<int>("--first") { Description = "The number of the first case: a long run in parts." };
var count = new Option<int>("--count") { Description = "So many cases.", DefaultValueFactory = _ => 1000 };
var seed = new Option<ulong>("--seed")
{
    Description = "Case K of seed N is always the same.",
    DefaultValueFactory = _ => 1,
};
var keep = new Option<string?>("--keep") { Description = "Of the one case only these parts, as a failure names them." };
var root = new RootCommand("Says to the server what nobody should, and looks whether it still does its work.");

var inside = new Command("inside", "Against the service in this process, with a plan, a snapshot and a replay each.")
{
    first, count, seed, keep,
};
inside.SetAction(async (said, _) => await InsideCommand.RunAsync(said.GetValue(first), said.GetValue(count),
    said.GetValue(seed), said.GetValue(keep), Console.Out));
root.Add(inside);
var big = new Option<bool>("--big") { Description = "On a file of 100,000 cartridges." };
var http = new Command("http", "Against the program over HTTP, with 400 MB of heap; then a kill, and a comparison.")
{
    first, count, seed, big,
};
http.SetAction(async (said, _) => await HttpCommand.RunAsync(said.GetValue(first), said.GetValue(count),
    said.GetValue(seed), said.GetValue(big), Console.Out));
root.Add(http);
var reader = new Option<string?>("--reader") { Description = "This reader alone." };
var readers = new Command("readers", "Spoils what readers read well: files, codes, commands.")
{
    first, count, seed, reader,
};
readers.SetAction(said =>
{
    var folder = Directory.CreateTempSubdirectory("incubation-readers-");
    var findings = ReaderRun.Play(said.GetValue(first), said.GetValue(count), said.GetValue(seed), folder.FullName,
        said.GetValue(reader));
    folder.Delete(recursive: true);
    foreach (var finding in findings.Take(20))
        Console.WriteLine(finding);
    Console.WriteLine($"{said.GetValue(count)} cases of each reader: {findings.Count} found something");
    return findings.Count == 0 ? 0 : 1;
});
root.Add(readers);
var outsider = new Command("outsider", "What was once seen to do harm, over HTTP; fails where anything is found.");
outsider.SetAction((_, _) => OutsiderRun.RunAsync(Console.Out));
root.Add(outsider);
return await root.Parse(args).InvokeAsync();
