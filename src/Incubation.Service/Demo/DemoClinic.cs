using System.Text.Json;
using System.Text.Json.Serialization;
using Incubation.Exchange;
using Incubation.Model;
using Incubation.Service.Assays;
using Incubation.Service.Settings;

namespace Incubation.Service.Demo;

/// <summary>
/// The file clinic.json of a demo folder: an invented clinic. Times of assays and set-ups of benches stand in the day
/// files.
/// </summary>
/// <param name="Name">The clinic's name.</param>
/// <param name="Zone">IANA name of its time zone.</param>
/// <param name="Benches">Its benches.</param>
/// <param name="Assays">Its assays.</param>
/// <param name="Lots">Its kit lots.</param>
/// <param name="Note">For whoever opens the file.</param>
/// <param name="People">Its people; left out, nobody can sign in before the set-up.</param>
/// <param name="Sheets">A file of assays, as the office page takes in; its times are those of the day files. Left out,
/// an assay is its times and its unit.</param>
internal sealed record DemoClinicFile(
    string Name, string Zone, IReadOnlyList<DemoBench> Benches, IReadOnlyList<DemoAssay> Assays,
        IReadOnlyList<DemoLot> Lots, string? Note = null, IReadOnlyList<DemoPerson>? People = null,
        string? Sheets = null);

/// <param name="Id">Names the bench in addresses.</param>
/// <param name="Name">What people call it.</param>
/// <param name="PromptAhead">A step is prompted so many seconds ahead.</param>
/// <param name="Day">The bench-day file with its set-up and its first requests.</param>
internal sealed record DemoBench(string Id, string Name, int PromptAhead, string Day);

/// <param name="Code">As in the day files.</param>
/// <param name="Version">Version of its instructions.</param>
/// <param name="Unit">UCUM unit of its result.</param>
internal sealed record DemoAssay(string Code, int Version, string Unit);

/// <param name="Lot">The kit lot.</param>
/// <param name="Assay">Code of its assay.</param>
/// <param name="DaysLeft">It expires so many days after the demo begins.</param>
/// <param name="Count">How many cartridges came, with buffer and card.</param>
internal sealed record DemoLot(string Lot, string Assay, int DaysLeft, int Count);

/// <summary>An invented clinic as its folder's files state it.</summary>
internal sealed record DemoClinic(DemoClinicFile Clinic, IReadOnlyDictionary<string, BenchDay> Days,
    IReadOnlyDictionary<string, AssaySheet> Sheets)
{
    /// <summary>Name of the clinic's file in its folder.</summary>
    public const string FileName = "clinic.json";

    internal static readonly JsonSerializerOptions Form = new(JsonSerializerDefaults.Web)
    {
        UnmappedMemberHandling = JsonUnmappedMemberHandling.Disallow,
        RespectNullableAnnotations = true,
        RespectRequiredConstructorParameters = true,
        AllowTrailingCommas = false,
    };

    /// <summary>
    /// An assay's sheet: that of the file of sheets, else its times, as the first day names them, and its unit.
    /// </summary>
    public AssaySheet SheetOf(DemoAssay assay) => Sheets.GetValueOrDefault(assay.Code)
        ?? AssaySheet.Plain(AssayOf(assay.Code), assay.Unit);

    private Assay AssayOf(string code) => Days.Values.SelectMany(day => day.Assays)
        .First(assay => assay.Code.Value == code);

    /// <summary>Reads a demo folder.</summary>
    /// <exception cref="StartException">A file is missing or cannot be understood.</exception>
    public static DemoClinic Read(string folder)
    {
        var path = Path.Combine(folder, FileName);
        try
        {
            var clinic = ReadFile(folder);
            var days = clinic.Benches.ToDictionary(bench => bench.Id, bench =>
                ReadDay(Path.Combine(folder, bench.Day)));
            var demo = new DemoClinic(clinic, days, clinic.Sheets is { } sheets
                ? ReadSheets(Path.Combine(folder, sheets)) : new Dictionary<string, AssaySheet>());
            demo.Check(path);
            return demo;
        }
        catch (JsonException fault)
        {
            throw Fault(path, fault.Path ?? "$", DemoWords.DemoNotUnderstood);
        }
    }

    /// <summary>Reads the clinic's file of a demo folder alone.</summary>
    /// <exception cref="StartException">It is missing or cannot be understood.</exception>
    public static DemoClinicFile ReadFile(string folder)
    {
        var path = Path.Combine(folder, FileName);
        try
        {
            return JsonSerializer.Deserialize<DemoClinicFile>(ReadText(path), Form)!;
        }
        catch (JsonException fault)
        {
            throw Fault(path, fault.Path ?? "$", DemoWords.DemoNotUnderstood);
        }
    }

    private void Check(string path)
    {
        var codes = Days.Values.SelectMany(day => day.Assays).Select(assay => assay.Code.Value).ToHashSet();
        foreach (var assay in Clinic.Assays)
            if (!codes.Contains(assay.Code))
                throw Fault(path, "$.assays", Text.Say.Of(DemoWords.DemoAssayWithoutTimes, assay.Code));
        foreach (var sheet in Sheets.Values)
            if (codes.Contains(sheet.Assay.Code.Value) && sheet.Assay != AssayOf(sheet.Assay.Code.Value))
                throw Fault(path, "$.sheets", Text.Say.Of(DemoWords.DemoSheetOtherTimes, sheet.Assay.Code));
        foreach (var bench in Clinic.Benches)
            if (!TextId.IsValid(bench.Id) || bench.PromptAhead < 0)
                throw Fault(path, "$.benches", DemoWords.DemoNotUnderstood);
    }

    private static BenchDay ReadDay(string path)
    {
        var read = BenchDayFile.Parse(ReadText(path));
        if (read.Value is { } day)
            return day;
        var first = read.Faults[0];
        throw Fault(path, first.Path, first.What + " " + first.Allowed);
    }

    private static Dictionary<string, AssaySheet> ReadSheets(string path)
    {
        var look = AssayService.Preview(ReadText(path));
        if (look.Faults.Concat(look.Rows.SelectMany(row => row.Faults)).FirstOrDefault() is { } fault)
            throw Fault(path, "$", fault);
        return look.Rows.ToDictionary(row => row.Sheet!.Assay.Code.Value, row => row.Sheet!);
    }

    internal static string ReadText(string path)
    {
        try
        {
            return File.ReadAllText(path);
        }
        catch (Exception fault) when (fault is IOException or UnauthorizedAccessException)
        {
            throw new StartException(Text.Say.Of(DemoWords.DemoFileUnreadable, path));
        }
    }

    internal static StartException Fault(string path, string place, string what) =>
        new(Text.Say.Of(DemoWords.DemoFileFault, path, place, what));
}
