using System.CommandLine;
using Incubation.Benchmarks;
using Incubation.Benchmarks.Lines;
using NodaTime;

var lines = new Dictionary<string, Func<Measuring, IEnumerable<Row>>>
{
    ["first"] = FirstPlanLine.Measure,
    ["ms50"] = SolverLine.AfterFiftyMilliseconds,
    ["s1"] = SolverLine.AfterOneSecond,
    ["large"] = LargeLine.Measure,
    ["replan"] = ReplanLine.Measure,
    ["bound"] = BoundLine.Gaps,
    ["proved"] = BoundLine.Proofs,
    ["loop"] = EffortLine.Loop,
    ["growth"] = EffortLine.Growth,
    ["moments"] = MomentsLine.Measure,
};

var families = new Option<string[]>("--family")
{
    Description =
        $"Only this family (may be given more than once): "
        + $"{string.Join(", ", Families.All.Select(family => family.Name))}, replan-24, small, growing.",
    DefaultValueFactory = _ => [],
};
var wantedLines = new Option<string>("--lines")
{
    Description = "Only these lines of the table, with commas between.",
    DefaultValueFactory = _ => string.Join(',', lines.Keys)
};
var brief = new Option<bool>("--short") { Description = "Two days of each family instead of ten." };
var seeds = new Option<int?>("--seeds") { Description = "So many days of each family." };
var solver = new Option<double>("--solver-seconds")
{
    Description = "How long the solver has for a day.",
    DefaultValueFactory = _ => 60
};
var patient =
    new Option<double>("--long-seconds")
    {
        Description =
        "How long the two searches have that find the best plan of a large day.",
        DefaultValueFactory = _ => 600
    };
var anew = new Option<bool>("--anew") { Description = "Make the kept results of long searches anew." };
var onlyKept =
    new Option<bool>("--only-kept")
    {
        Description = "Search for nothing that is not kept; the table then says what is missing."
    };
var cache = new Option<string>("--cache")
{
    Description = "Where results of long searches are kept.",
    DefaultValueFactory = _ => "tests/Benchmarks/cache"
};

var parameters =
    new Option<string>("--solver-parameters")
    {
        Description =
        "More of the solver's parameters in its own text form, for experiments.",
        DefaultValueFactory = _ => ""
    };

var root = new RootCommand("Measures the planner and prints the table of its targets.") { families, wantedLines, brief,
    seeds, solver, patient, anew, onlyKept, cache, parameters };
root.SetAction(parse =>
{
    var measuring = new Measuring(
        parse.GetValue(seeds) ?? (parse.GetValue(brief) ? 2 : 10), parse.GetValue(families)!,
        Duration.FromSeconds(parse.GetValue(solver)), Duration.FromSeconds(parse.GetValue(patient)),
        new SolverCache(parse.GetValue(cache)!, parse.GetValue(anew), parse.GetValue(onlyKept),
            parse.GetValue(parameters)!), new Runs());
    var names = parse.GetValue(wantedLines)!.Split(',',
        StringSplitOptions.RemoveEmptyEntries | StringSplitOptions.TrimEntries);
    if (names.FirstOrDefault(name => !lines.ContainsKey(name)) is { } unknown)
    {
        Console.Error.WriteLine($"There is no line '{unknown}'; there are {string.Join(", ", lines.Keys)}.");
        return 2;
    }
    var rows = names.SelectMany(name => lines[name](measuring)).ToList();
    Console.WriteLine(Table.Of(rows));
    Console.WriteLine(
        $"Machine: {Machine.Description}. {measuring.Seeds} days a family; the planner on one thread, the solver on "
        + $"two.");
    Console.WriteLine(
        $"{rows.Count(row => row.IsMet == true)} targets met, {rows.Count(row => row.IsMet == false)} missed.");
    return 0;
});

var days = new Option<int>("--days") { Description = "How many days.", DefaultValueFactory = _ => 200 };
var most = new Option<int>("--most") { Description = "Up to so many requests a day.", DefaultValueFactory = _ => 7 };
var firstSeed = new Option<ulong>("--seed") { Description = "The first day's seed.", DefaultValueFactory = _ => 5001 };
var iterations = new Option<long>("--iterations")
{
    Description = "The planner's iterations a day.",
    DefaultValueFactory = _ => 100_000
};
var directory =
    new Option<string?>("--write") { Description = "Writes the days that differ here, each with both plans." };
var agree = new Command("agree", "Compares the planner with proved optima on random days of every feature.") { days,
    most, firstSeed, iterations, directory };
agree.SetAction(parse => Agreement.Compare(parse.GetValue(days), parse.GetValue(most), parse.GetValue(firstSeed),
    parse.GetValue(iterations), parse.GetValue(directory)) == 0 ? 0 : 1);
root.Subcommands.Add(agree);
return root.Parse(args).Invoke();
