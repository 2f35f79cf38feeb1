using System.Collections.Immutable;
using System.Globalization;
using System.Text.RegularExpressions;
using Incubation.Model.Terms;
using NodaTime;

namespace Incubation.Model;

/// <summary>
/// An assay as its kit's instructions state it: the times that a plan needs, and everything that people are shown,
/// asked for and held to. A version of it is never changed.
/// </summary>
/// <param name="Assay">The times.</param>
/// <param name="Unit">Unit of the result: UCUM where it came through a form or a file; what old logs say stays.</param>
/// <param name="Analyte">What is measured.</param>
/// <param name="Loinc">Its LOINC code, or null where there is none.</param>
/// <param name="Instructions">Which revision of the kit's instructions this was copied from.</param>
/// <param name="Results">How its results are entered and marked.</param>
/// <param name="Specimens">What may be run.</param>
/// <param name="Warmth">How warm the incubator must be; null where that was never said.</param>
/// <param name="Materials">How kit and buffer are kept.</param>
/// <param name="Controls">How it is controlled.</param>
/// <param name="Texts">The words shown at each step.</param>
public sealed record AssaySheet(
    Assay Assay,
    string Unit,
    string Analyte,
    LoincCode? Loinc,
    string Instructions,
    ResultRule Results,
    SpecimenRule Specimens,
    WarmthRule? Warmth,
    MaterialRule Materials,
    ControlPolicy Controls,
    StepTexts Texts)
{
    /// <summary>An assay of which nothing but its times and its unit was ever said.</summary>
    public static AssaySheet Plain(Assay assay, string unit)
    {
        ArgumentNullException.ThrowIfNull(assay);
        return new AssaySheet(
            assay, unit, assay.Name, null, "", ResultRule.AsDisplayed, SpecimenRule.Any, null, MaterialRule.AtOnce,
                ControlPolicy.None, StepTexts.None);
    }

    /// <summary>Whether two sheets say the same.</summary>
    public bool SaysTheSame(AssaySheet? other) =>
        other is not null
        && Specimens.Types.SequenceEqual(other.Specimens.Types)
        && this with { Specimens = other.Specimens } == other
        && Specimens with { Types = other.Specimens.Types } == other.Specimens;
}

/// <summary>From and to, in the unit of the assay; either end may be open.</summary>
/// <param name="From">The least, or null.</param>
/// <param name="To">The most, or null; not below <paramref name="From"/>.</param>
public sealed record ValueRange(decimal? From, decimal? To)
{
    /// <summary>Both ends open.</summary>
    public static ValueRange Open { get; } = new(null, null);

    /// <summary>Whether a value lies below it.</summary>
    public bool IsBelow(decimal value) => value < From;

    /// <summary>Whether a value lies above it.</summary>
    public bool IsAbove(decimal value) => value > To;
}

/// <summary>How results of an assay are entered and marked. All values are in the assay's unit.</summary>
/// <param name="Decimals">So many decimals are reported; null as the reader displays.</param>
/// <param name="Measuring">The measuring range: what lies outside is reported as below or above its end.</param>
/// <param name="Reference">The reference interval; open where there is none.</param>
/// <param name="Critical">What lies outside must be told to somebody at once; open where there is none.</param>
public sealed record ResultRule(int? Decimals, ValueRange Measuring, ValueRange Reference, ValueRange Critical)
{
    /// <summary>As the reader displays it, nothing marked.</summary>
    public static ResultRule AsDisplayed { get; } = new(null, ValueRange.Open, ValueRange.Open, ValueRange.Open);
}

/// <summary>Which specimens may be run.</summary>
/// <param name="Types">The types accepted, as their labels say; empty where any is.</param>
/// <param name="Volume">Specimen for one cartridge, in microlitres; null where that was never said.</param>
/// <param name="LoadVolume">Mixture for the well, in microlitres; null where that was never said.</param>
/// <param name="LongestAge">From collection to the load's end at most; null without limit.</param>
/// <param name="Stand">For so long it stands at room temperature before it is mixed.</param>
public sealed record SpecimenRule(ImmutableArray<string> Types, decimal? Volume, decimal? LoadVolume,
    Duration? LongestAge, Duration Stand)
{
    /// <summary>Any, at once.</summary>
    public static SpecimenRule Any { get; } = new([], null, null, null, Duration.Zero);
}

/// <summary>How warm the incubator must be while a cartridge reacts.</summary>
/// <param name="Set">What it is set to.</param>
/// <param name="Tolerance">How far from that it may be, up or down.</param>
/// <param name="DiscardBeyond">A cartridge is thrown away after so long outside in all; null where it is marked and its
/// result held.</param>
public sealed record WarmthRule(Celsius Set, Celsius Tolerance, Duration? DiscardBeyond);

/// <summary>How kit and buffer are kept.</summary>
/// <param name="Stand">For so long they stand at room temperature before the first mix.</param>
/// <param name="OpenPouch">A cartridge is used within so long after its pouch was opened; null without limit.</param>
public sealed record MaterialRule(Duration Stand, Duration? OpenPouch)
{
    /// <summary>Used as they come.</summary>
    public static MaterialRule AtOnce { get; } = new(Duration.Zero, null);
}

/// <summary>What patients' cartridges do while their lot's controls are due and not accepted.</summary>
public enum ControlGate
{
    /// <summary>They run, and nothing is held.</summary>
    None,

    /// <summary>They run; their results are held until the controls are accepted.</summary>
    HoldResults,

    /// <summary>They wait until the controls are accepted.</summary>
    Wait,
}

/// <summary>
/// How an assay is controlled: 42 CFR 493.1256(d)(3) asks for two controls of different concentration on each day of
/// testing.
/// </summary>
/// <param name="Levels">Control levels of a set; 0 where none are run.</param>
/// <param name="EachDay">Due on each day of use.</param>
/// <param name="NewLot">Due for a kit lot that has not been used.</param>
/// <param name="NewShipment">Due when more of a lot has come in.</param>
/// <param name="AfterService">Due after a reader's service.</param>
/// <param name="Gate">What patients' cartridges do until they are accepted.</param>
public sealed record ControlPolicy(int Levels, bool EachDay, bool NewLot, bool NewShipment, bool AfterService,
    ControlGate Gate)
{
    /// <summary>No controls.</summary>
    public static ControlPolicy None { get; } = new(0, false, false, false, false, ControlGate.None);
}

/// <summary>
/// What the aide is shown at each step, in the words of the kit's instructions; null where nothing is to be said.
/// </summary>
public sealed record StepTexts(string? Mix, string? Load, string? Move, string? Read, string? Clear)
{
    /// <summary>Nothing.</summary>
    public static StepTexts None { get; } = new(null, null, null, null, null);
}

/// <summary>A control as a cartridge is run for it.</summary>
/// <param name="Lot">Lot of the control material.</param>
/// <param name="Level">Its level, from 1.</param>
public sealed partial record ControlMaterial(LotCode Lot, int Level)
{
    /// <summary>
    /// Whether a text names it as people write it: its lot and then its level, by number alone or behind "L" or
    /// "level", in any letters and with any mark between: "C7 L1", "c7-1", "C7 level 1". The lot is compared letter by
    /// letter, so that no other lot is taken for it.
    /// </summary>
    public bool IsWrittenAs(string? text)
    {
        var written = text?.Trim() ?? "";
        return written.StartsWith(Lot.Value, StringComparison.OrdinalIgnoreCase)
            && Behind().Match(written[Lot.Value.Length..]) is { Success: true } level
            && level.Groups[1].Value == Level.ToString(CultureInfo.InvariantCulture);
    }

    [GeneratedRegex(@"\A(?:[\s\-_/:,.]*l(?:evel|vl)?[\s\-_.:]*|[\s\-_/:,.]+)([1-9])\z",
        RegexOptions.IgnoreCase | RegexOptions.CultureInvariant)]
    private static partial Regex Behind();
}

/// <summary>What is known of a request beside what a plan needs; each null where it was not said.</summary>
/// <param name="Identifier">A second identifier beside the specimen's, as little as serves: a birth date, a name or a
/// code.</param>
/// <param name="SpecimenType">The specimen's type, as its assay's sheet names it.</param>
/// <param name="Collected">When the specimen was collected.</param>
/// <param name="TakenOut">When it was taken out to come to room temperature.</param>
/// <param name="Control">The control that it is.</param>
public sealed record Particulars(string? Identifier, string? SpecimenType, Instant? Collected, Instant? TakenOut,
    ControlMaterial? Control);

/// <summary>What a bench must know of a request beside its times, copied when it comes in.</summary>
/// <param name="Results">How its result is entered and marked.</param>
/// <param name="Texts">The words shown at each step.</param>
/// <param name="Warmth">How warm the incubator must be, or null.</param>
/// <param name="Gate">What it does while its lot's controls are not accepted.</param>
/// <param name="Control">The control that it is, or null for a patient's.</param>
/// <param name="Identifier">A second identifier beside the specimen's, as little as serves: a birth date, a name or a
/// code; null where none was given.</param>
/// <param name="Materials">How its kit and buffer are kept, or null where that was not said.</param>
public sealed record RunFacts(
    ResultRule Results, StepTexts Texts, WarmthRule? Warmth, ControlGate Gate, ControlMaterial? Control,
        string? Identifier, MaterialRule? Materials = null)
{
    /// <summary>What a sheet says for a request.</summary>
    public static RunFacts Of(AssaySheet sheet, Particulars? particulars)
    {
        ArgumentNullException.ThrowIfNull(sheet);
        return new RunFacts(sheet.Results, sheet.Texts, sheet.Warmth, sheet.Controls.Gate, particulars?.Control,
            particulars?.Identifier, sheet.Materials);
    }
}
