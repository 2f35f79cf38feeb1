using System.Globalization;
using Incubation.Model;
using Incubation.Service.Text;
using NodaTime;

namespace Incubation.Service.Assays;

/// <summary>Where people find what a field asks for.</summary>
public enum SheetPart
{
    /// <summary>In the kit's instructions.</summary>
    Kit,

    /// <summary>At their own bench.</summary>
    Bench,
}

/// <summary>What the fields of a sheet are about, in the order in which instructions usually tell it.</summary>
public enum SheetGroup
{
    What,
    Specimen,
    Materials,
    Mix,
    Load,
    Incubation,
    Read,
    Result,
    Limits,
    Controls,
    Steps,
}

/// <summary>How what is typed in a field is read.</summary>
public enum SheetKind
{
    Words,
    Number,
    Length,
}

/// <summary>One field of a sheet: the form asks for it, the page shows it, two versions are compared by it.</summary>
/// <param name="Member">Names it in forms and faults.</param>
/// <param name="Group">What it is about.</param>
/// <param name="Read">What a sheet says, as the form has it; null or empty where nothing.</param>
/// <param name="Required">Whether it must be filled in.</param>
/// <param name="Choices">What can be chosen; null where it is typed.</param>
/// <param name="Kind">How it is read.</param>
/// <param name="Unit">What a plain number counts where it is a length.</param>
public sealed record SheetField(
    string Member, SheetGroup Group, Func<AssaySheet, string?> Read, bool Required = false,
        IReadOnlyList<FieldChoice>? Choices = null, SheetKind Kind = SheetKind.Words,
        LengthUnit Unit = LengthUnit.Seconds)
{
    /// <summary>Whether it is a length of time.</summary>
    public bool IsLength => Kind == SheetKind.Length;

    /// <summary>Where people find what it asks for.</summary>
    public SheetPart Part => Group == SheetGroup.Steps ? SheetPart.Bench : SheetPart.Kit;

    /// <summary>What the form calls it: of a length, with what a plain number counts.</summary>
    public string Asked => !IsLength ? Label : Say.Of(AssayWords.LabelWithUnit, Label, Unit switch
    {
        LengthUnit.Hours => AssayWords.UnitHours,
        LengthUnit.Minutes => AssayWords.UnitMinutes,
        _ => AssayWords.UnitSeconds,
    });

    /// <summary>
    /// What was understood of what was typed, where that is worth saying, and what is wrong with it; either may be
    /// null.
    /// </summary>
    public (string? Understood, string? Fault) Look(string? text) => string.IsNullOrWhiteSpace(text) ? (null, null)
        : Kind switch
        {
            SheetKind.Length => (TypedLength.Understood(text, Unit), TypedLength.Read(text, Unit).Fault),
            SheetKind.Number => (TypedNumber.Understood(text), TypedNumber.Read(text).Fault),
            _ => (null, null),
        };

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
        new("Unit", SheetGroup.What, sheet => sheet.Unit, Required: true),
        new("Instructions", SheetGroup.What, sheet => sheet.Instructions, Required: true),
        new("Loinc", SheetGroup.What, sheet => sheet.Loinc?.Value),

        new("SpecimenTypes", SheetGroup.Specimen, sheet => string.Join(Separator + " ", sheet.Specimens.Types)),
        Number("SpecimenVolume", SheetGroup.Specimen, sheet => sheet.Specimens.Volume),
        Length("SpecimenAge", SheetGroup.Specimen, LengthUnit.Hours, sheet => sheet.Specimens.LongestAge),
        Length("SpecimenStand", SheetGroup.Specimen, LengthUnit.Minutes, sheet => sheet.Specimens.Stand),

        Length("MaterialStand", SheetGroup.Materials, LengthUnit.Minutes, sheet => sheet.Materials.Stand),
        Length("OpenPouch", SheetGroup.Materials, LengthUnit.Minutes, sheet => sheet.Materials.OpenPouch),

        Length("MixToLoad", SheetGroup.Mix, LengthUnit.Minutes, sheet => sheet.Assay.MixToLoad, isRequired: true),
        new("MixText", SheetGroup.Mix, sheet => sheet.Texts.Mix),

        Number("LoadVolume", SheetGroup.Load, sheet => sheet.Specimens.LoadVolume),
        new("LoadText", SheetGroup.Load, sheet => sheet.Texts.Load),

        new("Place", SheetGroup.Incubation, sheet => sheet.Assay.Place.ToString(), Required: true, Choices:
        [
            new(nameof(IncubationPlace.Incubator), AssayWords.PlaceIncubator),
                new(nameof(IncubationPlace.Reader), AssayWords.PlaceReader),
            new(nameof(IncubationPlace.Either), AssayWords.PlaceEither),
        ]),
        Length("Incubation", SheetGroup.Incubation, LengthUnit.Minutes, sheet => sheet.Assay.Incubation,
            isRequired: true),
        Number("WarmthSet", SheetGroup.Incubation, sheet => (decimal?)sheet.Warmth?.Set.Degrees),
        Number("WarmthTolerance", SheetGroup.Incubation, sheet => (decimal?)sheet.Warmth?.Tolerance.Degrees),
        Length("WarmthDiscard", SheetGroup.Incubation, LengthUnit.Minutes, sheet => sheet.Warmth?.DiscardBeyond),

        Length("ReadWindow", SheetGroup.Read, LengthUnit.Minutes, sheet => sheet.Assay.ReadWindow, isRequired: true),
        Length("Read", SheetGroup.Read, LengthUnit.Seconds, sheet => sheet.Assay.Read, isRequired: true),
        new("MoveText", SheetGroup.Read, sheet => sheet.Texts.Move),
        new("ReadText", SheetGroup.Read, sheet => sheet.Texts.Read),
        new("ClearText", SheetGroup.Read, sheet => sheet.Texts.Clear),

        Number("MeasuringFrom", SheetGroup.Result, sheet => sheet.Results.Measuring.From),
        Number("MeasuringTo", SheetGroup.Result, sheet => sheet.Results.Measuring.To),
        Number("Decimals", SheetGroup.Result, sheet => sheet.Results.Decimals),

        Number("ReferenceFrom", SheetGroup.Limits, sheet => sheet.Results.Reference.From),
        Number("ReferenceTo", SheetGroup.Limits, sheet => sheet.Results.Reference.To),
        Number("CriticalFrom", SheetGroup.Limits, sheet => sheet.Results.Critical.From),
        Number("CriticalTo", SheetGroup.Limits, sheet => sheet.Results.Critical.To),

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

        Length("Mix", SheetGroup.Steps, LengthUnit.Seconds, sheet => sheet.Assay.Mix, isRequired: true),
        Length("Load", SheetGroup.Steps, LengthUnit.Seconds, sheet => sheet.Assay.Load, isRequired: true),
        Length("Move", SheetGroup.Steps, LengthUnit.Seconds, sheet => sheet.Assay.Move, isRequired: true),
        Length("Clear", SheetGroup.Steps, LengthUnit.Seconds, sheet => sheet.Assay.Clear, isRequired: true),
        Length("MixShortest", SheetGroup.Steps, LengthUnit.Seconds, sheet => sheet.Assay.MixShortest),
        Length("LoadShortest", SheetGroup.Steps, LengthUnit.Seconds, sheet => sheet.Assay.LoadShortest),
    ];

    private static readonly Dictionary<string, SheetField> ByMember = All.ToDictionary(field => field.Member);

    /// <summary>
    /// How long the bench's own steps may take before anything is known of the bench: our first guess, for a form to
    /// begin with; shortest times stay empty, which is the cautious way.
    /// </summary>
    public static IReadOnlyDictionary<string, string> FirstGuess { get; } = new Dictionary<string, string>
    {
        ["Mix"] = "1:00",
        ["Load"] = "0:30",
        ["Move"] = "0:20",
        ["Clear"] = "0:20",
    };

    /// <summary>The field of that name; throws where there is none.</summary>
    public static SheetField Find(string member) => ByMember[member];

    /// <summary>The groups of which a sheet says something, in order: what a second reader compares.</summary>
    public static IReadOnlyList<SheetGroup> GroupsOf(AssaySheet sheet) =>
        [.. All.Where(field => !string.IsNullOrEmpty(field.Read(sheet))).Select(field => field.Group).Distinct()];

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
        foreach (var (member, length) in FirstGuess)
            texts[member] = length;
        return texts;
    }

    /// <summary>
    /// A form for another assay that begins with what a sheet says; what names the one assay and its instructions is
    /// left empty.
    /// </summary>
    public static Dictionary<string, string?> Copy(AssaySheet sheet)
    {
        var texts = TextsOf(sheet);
        texts["Code"] = texts["Name"] = texts["Analyte"] = texts["Loinc"] = texts["Instructions"] = null;
        return texts;
    }

    private static SheetField Length(string member, SheetGroup group, LengthUnit unit,
        Func<AssaySheet, Duration?> read, bool isRequired = false) =>
        new(member, group, sheet => read(sheet) is { } length ? TypedLength.Format(length) : null, isRequired,
            Kind: SheetKind.Length, Unit: unit);

    private static SheetField Number(string member, SheetGroup group, Func<AssaySheet, decimal?> read) =>
        new(member, group, sheet => read(sheet) is { } value ? TypedNumber.Format(value) : null,
            Kind: SheetKind.Number);

    private static SheetField YesOrNo(string member, Func<AssaySheet, bool> read) =>
        new(member, SheetGroup.Controls, sheet => read(sheet) ? "yes" : "no", Choices: YesNo);
}
