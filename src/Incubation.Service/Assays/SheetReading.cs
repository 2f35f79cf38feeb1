using Incubation.Exchange;
using Incubation.Model;
using Incubation.Model.Terms;
using Incubation.Service.Text;
using NodaTime;

namespace Incubation.Service.Assays;

/// <summary>Reads a sheet from what was filled in, field by field, collecting every fault.</summary>
internal sealed class SheetReading
{
    private const int MaxDecimals = 6;
    private const int MaxLevels = 3;
    private const int LongestText = 200;
    private readonly IReadOnlyDictionary<string, string?> texts;
    private readonly bool isFile;
    private readonly List<FormFault> faults = [];

    private SheetReading(IReadOnlyDictionary<string, string?> texts, bool isFile)
    {
        this.texts = texts;
        this.isFile = isFile;
    }

    /// <summary>The sheet, or what is wrong with the fields.</summary>
    /// <param name="texts">The fields.</param>
    /// <param name="isFile">Whether a file says them, in which a plain number is no length.</param>
    public static (AssaySheet? Sheet, IReadOnlyList<FormFault> Faults) Read(IReadOnlyDictionary<string, string?> texts,
        bool isFile = false)
    {
        var reading = new SheetReading(texts, isFile);
        var sheet = reading.Sheet();
        return (reading.faults.Count == 0 ? sheet : null, reading.faults);
    }

    private AssaySheet? Sheet()
    {
        var assay = Times();
        var unit = RequiredText("Unit", TextId.MaximumLength);
        if (unit.Length > 0 && UcumUnit.FaultOf(unit) is { } unitFault)
            Wrong("Unit", Say.Of(AssayWords.FaultUnit, unitFault.Part.Length > 0 ? unitFault.Part : unit));
        var analyte = RequiredText("Analyte", BenchLimits.NameLength);
        var loinc = Loinc();
        var instructions = RequiredText("Instructions", BenchLimits.NameLength);
        var results = Results();
        var specimens = new SpecimenRule([.. Types()], Volume("SpecimenVolume"), Volume("LoadVolume"),
            Length("SpecimenAge"), Length("SpecimenStand") ?? Duration.Zero);
        var warmth = Warmth();
        var materials = new MaterialRule(Length("MaterialStand") ?? Duration.Zero, Length("OpenPouch"));
        var controls = new ControlPolicy(
            Whole("Levels", MaxLevels) ?? 0, IsYes("EachDay"), IsYes("NewLot"), IsYes("NewShipment"),
                IsYes("AfterService"),
            Enum.TryParse<ControlGate>(Text("Gate"), out var gate) ? gate : ControlGate.None);
        var words = new StepTexts(
            Optional("MixText", LongestText), Optional("LoadText", LongestText), Optional("MoveText", LongestText),
            Optional("ReadText", LongestText), Optional("ClearText", LongestText));
        return assay is null || faults.Count > 0
            ? null
            : new AssaySheet(assay, unit, analyte, loinc, instructions, results, specimens, warmth, materials,
                controls, words);
    }

    private Assay? Times()
    {
        var code = Text("Code");
        if (!Bounds.IsIdentifier(code))
            Wrong("Code", code.Length == 0 ? AssayWords.FaultMissing : Words.IntakeTextFault);
        var name = RequiredText("Name", BenchLimits.NameLength);
        var place = Enum.TryParse<IncubationPlace>(Text("Place"), out var read) ? read : IncubationPlace.Incubator;
        string[] members = ["Mix", "MixToLoad", "Load", "Incubation", "ReadWindow", "Move", "Read", "Clear"];
        var lengths = members.Select(RequiredLength).ToArray();
        var mixShortest = Shortest("MixShortest", "Mix", lengths[0]);
        var loadShortest = Shortest("LoadShortest", "Load", lengths[2]);
        return faults.Count > 0
            ? null
            : new Assay(
                new AssayCode(code), name, place, lengths[0], lengths[1], lengths[2], lengths[3], lengths[4],
                    lengths[5], lengths[6], lengths[7],
                mixShortest, loadShortest);
    }

    private LoincCode? Loinc()
    {
        if (Optional("Loinc", TextId.MaximumLength) is not { } text)
            return null;
        switch (LoincCode.FaultOf(text))
        {
            case null:
                return new LoincCode(text);
            case LoincFault.CheckDigit:
                Wrong("Loinc", AssayWords.FaultLoincDigit);
                return null;
            default:
                Wrong("Loinc", AssayWords.FaultLoinc);
                return null;
        }
    }

    private ResultRule Results() => new(
        Whole("Decimals", MaxDecimals), Range("MeasuringFrom", "MeasuringTo"), Range("ReferenceFrom", "ReferenceTo"),
            Range("CriticalFrom", "CriticalTo"));

    private WarmthRule? Warmth()
    {
        var set = Number("WarmthSet");
        var tolerance = Number("WarmthTolerance");
        var discard = Length("WarmthDiscard");
        if (set is null && tolerance is null && discard is null)
            return null;
        if (set is null)
            Wrong("WarmthSet", AssayWords.FaultMissing);
        if (tolerance is null or < 0)
            Wrong("WarmthTolerance", AssayWords.FaultTolerance);
        if (set is < 4 or > 60)
            Wrong("WarmthSet", AssayWords.FaultWarmth);
        return new WarmthRule(new Celsius((double)(set ?? 0)), new Celsius((double)(tolerance ?? 0)), discard);
    }

    private IEnumerable<string> Types()
    {
        var types = Text("SpecimenTypes")
            .Split(SheetFields.Separator, StringSplitOptions.TrimEntries | StringSplitOptions.RemoveEmptyEntries);
        if (types.Any(type => !Bounds.IsIdentifier(type)))
            Wrong("SpecimenTypes", Words.IntakeTextFault);
        return types.Distinct(StringComparer.OrdinalIgnoreCase);
    }

    private ValueRange Range(string from, string to)
    {
        var range = new ValueRange(Number(from), Number(to));
        if (range.From > range.To)
            Wrong(to, AssayWords.FaultRange);
        return range;
    }

    private Duration Shortest(string member, string of, Duration allowed)
    {
        if (Text(member).Length == 0)
            return allowed;
        var shortest = RequiredLength(member);
        if (shortest > allowed && faults.All(fault => fault.Member != of))
            Wrong(member, AssayWords.FaultShortest);
        return shortest;
    }

    private Duration RequiredLength(string member)
    {
        if (Text(member).Length == 0)
            Wrong(member, AssayWords.FaultMissing);
        return Length(member) ?? Duration.Zero;
    }

    private Duration? Length(string member)
    {
        if (Text(member).Length == 0)
            return null;
        var read = TypedLength.Read(Text(member), isFile ? null : SheetFields.Find(member).Unit);
        if (read.Fault is { } fault)
            Wrong(member, fault);
        return read.Length;
    }

    private decimal? Volume(string member)
    {
        var volume = Number(member);
        if (volume is <= 0 or > 100_000)
            Wrong(member, AssayWords.FaultVolume);
        return volume;
    }

    private int? Whole(string member, int most)
    {
        var number = Number(member);
        if (number is { } value && (value < 0 || value > most || value != decimal.Truncate(value)))
        {
            Wrong(member, Say.Of(Words.NumberFault, 0, most));
            return null;
        }

        return (int?)number;
    }

    private decimal? Number(string member)
    {
        var text = Text(member);
        if (text.Length == 0)
            return null;
        var read = TypedNumber.Read(text);
        if (read.Fault is { } fault)
            Wrong(member, fault);
        return read.Value;
    }

    private bool IsYes(string member) => Text(member) == "yes";

    private string RequiredText(string member, int longest)
    {
        if (Optional(member, longest) is { } text)
            return text;
        if (Text(member).Length == 0)
            Wrong(member, AssayWords.FaultMissing);
        return "";
    }

    private string? Optional(string member, int longest)
    {
        var text = Text(member);
        if (text.Length == 0)
            return null;
        if (text.Length <= longest && Bounds.IsPrintable(text))
            return text;
        Wrong(member, Say.Of(AssayWords.FaultText, longest));
        return null;
    }

    private string Text(string member) => texts.GetValueOrDefault(member)?.Trim() ?? "";

    private void Wrong(string member, string sentence)
    {
        if (faults.All(fault => fault.Member != member))
            faults.Add(new FormFault(member, sentence));
    }
}
