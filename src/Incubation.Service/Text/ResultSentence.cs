using Incubation.Bench;
using Incubation.Model;

namespace Incubation.Service.Text;

/// <summary>
/// Results in words. Nothing is interpreted: a value is marked against its assay's intervals, no more.
/// </summary>
public static class ResultSentence
{
    /// <summary>The value as it is reported, with its unit; or that there is none.</summary>
    public static string Value(Cartridge cartridge) => cartridge switch
    {
        { Marked: { } marked, Result: ReadResult.Measured measured } => UnitText.Of(marked.Reported, measured.Unit),
        { Result: ReadResult.NoValue none } => Say.Of(TextWords.ResultNoValue, none.Code),
        _ => TextWords.ResultMissing,
    };

    /// <summary>Where it lies, and what has become of it; null where there is nothing to say.</summary>
    public static string? Marks(Cartridge cartridge)
    {
        var marked = cartridge.Marked;
        var text = Say.Dotted(
            // A control is judged by its target, not by the patients' intervals.
            marked is null || cartridge.Wanted.Request.Kind == RequestKind.Control ? null : Flags(marked),
            cartridge.Status?.Told is { } told
                ? Say.Of(told.ReadBack ? TextWords.ToldReadBack : TextWords.ToldNotReadBack, told.Whom) : null,
            cartridge.Status is { Earlier: [var first, ..] } ? Say.Of(BatchesWords.Amended, Of(first.Was)) : null,
            cartridge.Status?.Released is not null ? TextWords.Released : null);
        return text.Length == 0 ? null : text;
    }

    /// <summary>Where a value lies against its assay's intervals.</summary>
    public static string? Flags(MarkedResult marked)
    {
        var flag = marked.Flag switch
        {
            ResultFlag.Low => TextWords.Low,
            ResultFlag.High => TextWords.High,
            _ => null,
        };
        return marked.IsCritical ? Say.Dotted(flag, TextWords.Critical) : flag;
    }

    /// <summary>Why a result is held, in words; empty where it is not.</summary>
    public static string WhyHeld(Cartridge cartridge) => !cartridge.IsHeld ? "" : Say.Dotted(
        cartridge.Status?.Identity switch
        {
            ResultIdentity.Missing => TextWords.HeldNoIdentity,
            ResultIdentity.Different => TextWords.HeldOtherIdentity,
            _ => null,
        },
        cartridge.Status is { NotChecked: true } ? TextWords.HeldNotChecked : null,
        cartridge.HeldForControls ? TextWords.HeldForControls : null,
        Say.Dotted([.. ResourceText.Marks(cartridge)]));

    /// <summary>A result as it was entered.</summary>
    public static string Of(ReadResult result) => result switch
    {
        ReadResult.Measured measured => UnitText.Of(measured),
        ReadResult.NoValue none => Say.Of(TextWords.ResultNoValue, none.Code),
        _ => "",
    };
}
