using System.Globalization;
using Incubation.Exchange;
using Incubation.Model;
using Incubation.Service.Text;
using NodaTime;

namespace Incubation.Service.Assays;

/// <summary>What the fields of a sheet are about.</summary>
public enum SheetGroup
{
    What,
    Times,
    Result,
    Specimen,
    Warmth,
    Materials,
    Controls,
    Texts,
}

/// <summary>One field of a sheet: the form asks for it, the page shows it, two versions are compared by it.</summary>
/// <param name="Member">Names it in forms and faults.</param>
/// <param name="Group">What it is about.</param>
/// <param name="Read">What a sheet says, as the form has it; null or empty where nothing.</param>
/// <param name="Required">Whether it must be filled in.</param>
/// <param name="Choices">What can be chosen; null where it is typed.</param>
/// <param name="IsLength">Whether it is a length of time.</param>
public sealed record SheetField(
    string Member, SheetGroup Group, Func<AssaySheet, string?> Read, bool Required = false,
        IReadOnlyList<FieldChoice>? Choices = null, bool IsLength = false)
{
    /// <summary>What people call it.</summary>
    public string Label => AssayWords.ResourceManager.GetString("Field" + Member, CultureInfo.CurrentUICulture)
        ?? Member;

    /// <summary>What to know before filling it in, or null.</summary>
    public string? Help => AssayWords.ResourceManager.GetString("Help" + Member, CultureInfo.CurrentUICulture);

    /// <summary>What a sheet says, in words; a dash where nothing.</summary>
    public string Shown(AssaySheet sheet)
    {
        var text = Read(sheet);
        return string.IsNullOrEmpty(text) ? "–" : Choices?.FirstOrDefault(choice => choice.Value == text)?.Text ?? text;
    }
}

/// <summary>Every field of a sheet, in the order of the form.</summary>
public static class SheetFields
{
    /// <summary>Separates specimen types in their one field.</summary>
    public const char Separator = ',';

    private static readonly IReadOnlyList<FieldChoice> YesNo = [new("yes", AssayWords.Yes), new("no", AssayWords.No)];

    /// <summary>The fields.</summary>
    public static IReadOnlyList<SheetField> All { get; } =
    [
        new("Code", SheetGroup.What, sheet => sheet.Assay.Code.Value, Required: true),
        new("Name", SheetGroup.What, sheet => sheet.Assay.Name, Required: true),
        new("Analyte", SheetGroup.What, sheet => sheet.Analyte, Required: true),
        new("Loinc", SheetGroup.What, sheet => sheet.Loinc?.Value),
        new("Instructions", SheetGroup.What, sheet => sheet.Instructions, Required: true),

        new("Place", SheetGroup.Times, sheet => sheet.Assay.Place.ToString(), Required: true, Choices:
        [
            new(nameof(IncubationPlace.Incubator), AssayWords.PlaceIncubator),
                new(nameof(IncubationPlace.Reader), AssayWords.PlaceReader),
            new(nameof(IncubationPlace.Either), AssayWords.PlaceEither),
        ]),
        Length("Mix", sheet => sheet.Assay.Mix),
        Length("MixShortest", sheet => sheet.Assay.MixShortest),
        Length("MixToLoad", sheet => sheet.Assay.MixToLoad),
        Length("Load", sheet => sheet.Assay.Load),
        Length("LoadShortest", sheet => sheet.Assay.LoadShortest),
        Length("Incubation", sheet => sheet.Assay.Incubation),
        Length("ReadWindow", sheet => sheet.Assay.ReadWindow),
        Length("Move", sheet => sheet.Assay.Move),
        Length("Read", sheet => sheet.Assay.Read),
        Length("Clear", sheet => sheet.Assay.Clear),

        new("Unit", SheetGroup.Result, sheet => sheet.Unit, Required: true),
        Number("Decimals", SheetGroup.Result, sheet => sheet.Results.Decimals),
        Number("MeasuringFrom", SheetGroup.Result, sheet => sheet.Results.Measuring.From),
        Number("MeasuringTo", SheetGroup.Result, sheet => sheet.Results.Measuring.To),
        Number("ReferenceFrom", SheetGroup.Result, sheet => sheet.Results.Reference.From),
        Number("ReferenceTo", SheetGroup.Result, sheet => sheet.Results.Reference.To),
        Number("CriticalFrom", SheetGroup.Result, sheet => sheet.Results.Critical.From),
        Number("CriticalTo", SheetGroup.Result, sheet => sheet.Results.Critical.To),

        new("SpecimenTypes", SheetGroup.Specimen, sheet => string.Join(Separator + " ", sheet.Specimens.Types)),
        Number("SpecimenVolume", SheetGroup.Specimen, sheet => sheet.Specimens.Volume),
        Number("LoadVolume", SheetGroup.Specimen, sheet => sheet.Specimens.LoadVolume),
        Length("SpecimenAge", sheet => sheet.Specimens.LongestAge, SheetGroup.Specimen),
        Length("SpecimenStand", sheet => sheet.Specimens.Stand, SheetGroup.Specimen),

        Number("WarmthSet", SheetGroup.Warmth, sheet => (decimal?)sheet.Warmth?.Set.Degrees),
        Number("WarmthTolerance", SheetGroup.Warmth, sheet => (decimal?)sheet.Warmth?.Tolerance.Degrees),
        Length("WarmthDiscard", sheet => sheet.Warmth?.DiscardBeyond, SheetGroup.Warmth),

        Length("MaterialStand", sheet => sheet.Materials.Stand, SheetGroup.Materials),
        Length("OpenPouch", sheet => sheet.Materials.OpenPouch, SheetGroup.Materials),

        Number("Levels", SheetGroup.Controls, sheet => sheet.Controls.Levels),
        YesOrNo("EachDay", sheet => sheet.Controls.EachDay),
        YesOrNo("NewLot", sheet => sheet.Controls.NewLot),
        YesOrNo("NewShipment", sheet => sheet.Controls.NewShipment),
        YesOrNo("AfterService", sheet => sheet.Controls.AfterService),
        new("Gate", SheetGroup.Controls, sheet => sheet.Controls.Gate.ToString(), Choices:
        [
            new(nameof(ControlGate.Wait), AssayWords.GateWait),
                new(nameof(ControlGate.HoldResults), AssayWords.GateHold),
            new(nameof(ControlGate.None), AssayWords.GateNone),
        ]),

        new("MixText", SheetGroup.Texts, sheet => sheet.Texts.Mix),
        new("LoadText", SheetGroup.Texts, sheet => sheet.Texts.Load),
        new("MoveText", SheetGroup.Texts, sheet => sheet.Texts.Move),
        new("ReadText", SheetGroup.Texts, sheet => sheet.Texts.Read),
        new("ClearText", SheetGroup.Texts, sheet => sheet.Texts.Clear),
    ];

    /// <summary>The fields in which two sheets differ.</summary>
    public static IReadOnlyList<SheetField> Differences(AssaySheet one, AssaySheet other) =>
        [.. All.Where(field => (field.Read(one) ?? "") != (field.Read(other) ?? ""))];

    /// <summary>What a sheet says, field by field, as a form begins with it.</summary>
    public static Dictionary<string, string?> TextsOf(AssaySheet sheet) =>
        All.ToDictionary(field => field.Member, field => field.Read(sheet));

    /// <summary>A form for an assay that is not there yet, with what is usual.</summary>
    public static Dictionary<string, string?> Fresh()
    {
        var texts = All.ToDictionary(field => field.Member, _ => (string?)null);
        texts["Place"] = nameof(IncubationPlace.Incubator);
        // Common practice: two levels on each day of use (42 CFR 493.1256(d)(3)), and before a new lot is relied on.
        texts["Levels"] = "2";
        texts["EachDay"] = texts["NewLot"] = texts["AfterService"] = "yes";
        texts["NewShipment"] = "no";
        texts["Gate"] = nameof(ControlGate.Wait);
        return texts;
    }

    private static SheetField Length(string member, Func<AssaySheet, Duration?> read,
        SheetGroup group = SheetGroup.Times) =>
        new(member, group, sheet => read(sheet) is { } length
            ? SheetLength.Format(length) : null, Required: group == SheetGroup.Times
            && !member.EndsWith("Shortest", StringComparison.Ordinal), IsLength: true);

    private static SheetField Number(string member, SheetGroup group, Func<AssaySheet, decimal?> read) =>
        new(member, group, sheet => read(sheet)?.ToString(CultureInfo.InvariantCulture));

    private static SheetField YesOrNo(string member, Func<AssaySheet, bool> read) =>
        new(member, SheetGroup.Controls, sheet => read(sheet) ? "yes" : "no", Choices: YesNo);
}

/// <summary>Lengths as people write them in a form: 0:50, 15:00, 24:00:00.</summary>
public static class SheetLength
{
    private static readonly Duration Longest = Duration.FromDays(366);

    /// <summary>A length in minutes and seconds, with hours where there are any.</summary>
    public static string Format(Duration length)
    {
        var hours = (long)length.TotalHours;
        return hours > 0
            ? string.Create(CultureInfo.InvariantCulture, $"{hours}:{length.Minutes:00}:{length.Seconds:00}")
            : string.Create(CultureInfo.InvariantCulture, $"{length.Minutes}:{length.Seconds:00}");
    }

    /// <summary>
    /// Reads minutes and seconds, or hours, minutes and seconds, or an ISO 8601 duration as files have it; null where
    /// the text is none, or is longer than a year.
    /// </summary>
    public static Duration? Read(string text)
    {
        ArgumentNullException.ThrowIfNull(text);
        if (text.StartsWith('P'))
            return IsoDuration.TryParse(text, out var iso) && iso <= Longest
                && iso.TotalSeconds == Math.Truncate(iso.TotalSeconds) ? iso : null;
        var parts = text.Trim().Split(':');
        if (parts.Length is not (2 or 3) || parts.Any(part => part.Length is 0 or > 5 || !part.All(char.IsAsciiDigit)))
            return null;
        var numbers = parts.Select(part => int.Parse(part, CultureInfo.InvariantCulture)).ToArray();
        if (numbers.Skip(1).Any(number => number > 59))
            return null;
        var seconds = numbers.Aggregate(0L, (sum, number) => (sum * 60) + number);
        return Duration.FromSeconds(seconds) is var length && length <= Longest ? length : null;
    }
}
