using Incubation.Clinic.Assays;
using Incubation.Clinic.People;
using Incubation.Model;
using Incubation.Service.Assays;
using Incubation.Service.People;
using Incubation.Service.Tests.Support;
using Microsoft.Extensions.DependencyInjection;

namespace Incubation.Server.Tests.Assays;

/// <summary>The catalogue of assays from its desk: drafts, approval by another, files.</summary>
public sealed class AssayServiceTest : IDisposable
{
    private static readonly AssayCode Code = new("DA");
    private readonly ServerFactory server = new();
    private readonly AssayService desk;

    public AssayServiceTest() => desk = server.Services.GetRequiredService<AssayService>();

    public void Dispose() => server.Dispose();

    [Fact]
    public void Approve_ByItsWriter_IsRefusedAndByAnotherDone()
    {
        Assert.Empty(Draft(Ines(), 0).Faults);
        Assert.Contains("may approve", Approve(Ines(), desk.Assays.Drafts[Code]).Fault, StringComparison.Ordinal);
        Assert.True(Approve(Mara(), desk.Assays.Drafts[Code]).IsDone);
        Assert.Equal(2, desk.Assays.Latest(Code)!.Version);
        Assert.Equal("New name", desk.Assays.Latest(Code)!.Sheet.Assay.Name);
        Assert.Equal("Demo assay A", desk.Assays.Versions[Code][0].Sheet.Assay.Name);
        Assert.False(desk.Assays.Drafts.ContainsKey(Code));
    }

    [Fact]
    public void Approve_ByOneOfTwoWriters_IsRefused()
    {
        Draft(Ines(), 0);
        Assert.Empty(Draft(Mara(), Written).Faults);
        Assert.False(Approve(Ines(), desk.Assays.Drafts[Code]).IsDone);
        Assert.False(Approve(Mara(), desk.Assays.Drafts[Code]).IsDone);
    }

    /// <summary>Whoever approves has compared each part: one is missing, and it stays a draft.</summary>
    [Fact]
    public void Approve_APartNotCompared_IsRefusedAndNamed()
    {
        Draft(Ines(), 0);
        var draft = desk.Assays.Drafts[Code];
        var parts = SheetFields.GroupsOf(draft.Sheet).ToHashSet();
        Assert.True(parts.Remove(SheetGroup.Incubation));
        Assert.StartsWith("\"Incubation\" was not compared", desk.Approve(Mara(), draft, parts).Fault,
            StringComparison.Ordinal);
        Assert.Equal(1, desk.Assays.VersionsOf(Code));
        Assert.True(desk.Approve(Mara(), draft, parts.Append(SheetGroup.Incubation).ToHashSet()).IsDone);
    }

    [Fact]
    public void Draft_WhileAnotherWroteIt_SaysSoAndLosesNothing()
    {
        Draft(Ines(), 0, "By Ines");
        var late = Draft(Mara(), 0, "By Mara");
        Assert.Contains("Someone has changed", Assert.Single(late.Faults).Sentence, StringComparison.Ordinal);
        Assert.Equal("By Ines", desk.Assays.Drafts[Code].Sheet.Assay.Name);
    }

    [Fact]
    public void Approve_DraftWrittenAnewMeanwhile_IsRefused()
    {
        Draft(Ines(), 0);
        var shown = desk.Assays.Drafts[Code];
        Assert.Empty(Draft(Ines(), Written, "Changed since").Faults);
        Assert.False(Approve(Mara(), shown).IsDone);
        Assert.Null(desk.Assays.Versions[Code].FirstOrDefault(version => version.Version == 2));
    }

    [Fact]
    public void Draft_AsAnAide_IsNotAllowed() => Assert.NotEmpty(Draft(As("lena", Role.Aide), 0).Faults);

    [Fact]
    public void Drop_ADraft_LeavesWhatIsApproved()
    {
        Draft(Ines(), 0);
        var dropped = Written;
        Assert.True(desk.Drop(Mara(), Code, dropped).IsDone);
        Assert.False(desk.Assays.Drafts.ContainsKey(Code));
        Assert.Equal(1, desk.Assays.VersionsOf(Code));
        // The next writing goes on counting: a page that still shows the dropped one cannot be taken for it.
        Draft(Ines(), 0);
        Assert.Equal(dropped + 1, Written);
    }

    [Fact]
    public void Export_TakenInAgain_SaysTheSame()
    {
        var look = AssayService.Preview(desk.Export());
        Assert.Empty(look.Faults);
        Assert.Equal(4, look.Good);
        Assert.All(look.Rows,
            row => Assert.True(row.Sheet!.SaysTheSame(desk.Assays.Latest(row.Sheet.Assay.Code)!.Sheet)));
    }

    /// <summary>
    /// Ten thousand rows with three that are wrong: the good ones are named, nothing is taken before it is asked for,
    /// and then all of them.
    /// </summary>
    [Fact]
    public void Import_ManyRowsThreeWrong_TellsTheThreeAndTakesTheOthersWhenAsked()
    {
        var good = SheetFields.All.Select(field => (field.Member, Text: field.Read(desk.Assays.Latest(Code)!.Sheet)))
            .Where(field => !string.IsNullOrEmpty(field.Text)).ToList();
        var rows = Enumerable.Range(1, 10_000)
            .Select(number =>
            {
                var members = good.Select(field =>
                {
                    var text = field.Member == "Code" ? $"I{(number == 9_000 ? 8_999 : number)}"
                        : number == 17 && field.Member == "Mix" ? "soon"
                        : field.Text;
                    return $"\"{char.ToLowerInvariant(field.Member[0])}{field.Member[1..]}\":\"{text}\"";
                });
                return "{" + string.Join(",", members) + (number == 5_000 ? ",\"colour\":\"blue\"" : "") + "}";
            });
        var look = AssayService.Preview("{\"assays\":[\n" + string.Join(",\n", rows) + "\n]}");
        Assert.Equal((9_997, 10_000), (look.Good, look.Rows.Count));
        var faults = look.Rows.SelectMany(row => row.Faults).ToList();
        Assert.Equal(3, faults.Count);
        Assert.Contains(faults, fault => fault.Contains("$.assays[16].mix, line 18", StringComparison.Ordinal));
        Assert.Contains(faults, fault => fault.Contains("$.assays[4999].colour", StringComparison.Ordinal));
        Assert.Contains(faults, fault => fault.Contains("I8999 is in the file twice", StringComparison.Ordinal));
        Assert.Empty(desk.Assays.Drafts);
        Assert.True(desk.Take(Ines(), look).IsDone);
        Assert.Equal(9_997, desk.Assays.Drafts.Count);
    }

    [Theory]
    [InlineData("")]
    [InlineData("{\"assays\": [")]
    [InlineData("[1, 2, 3]")]
    [InlineData("{\"requests\": []}")]
    public void Look_NoFileOfAssays_SaysWhereAndWhat(string text) => Assert.NotEmpty(AssayService.Preview(text).Faults);

    /// <summary>Approves as whoever has compared every part.</summary>
    private Outcome Approve(Actor actor, AssayDraft draft) =>
        desk.Approve(actor, draft, SheetFields.GroupsOf(draft.Sheet).ToHashSet());

    private DraftOutcome Draft(Actor actor, int seen, string name = "New name")
    {
        var texts = SheetFields.TextsOf(desk.Assays.Latest(Code)!.Sheet);
        texts["Name"] = name;
        return desk.Draft(actor, texts, seen, Code);
    }

    private int Written => desk.Assays.Drafts[Code].Revision;

    private static Actor Ines() => As("ines", Role.Supervisor);

    private static Actor Mara() => As("mara", Role.Administrator);

    private static Actor.Person As(string person, Role role)
    {
        var lena = AnAide.Lena;
        return lena with { Who = lena.Who with { Id = new PersonId(person), Role = role } };
    }
}
