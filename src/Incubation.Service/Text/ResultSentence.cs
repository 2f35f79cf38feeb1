using System.Collections.Immutable;
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
        // What cannot be is shown as it was entered: nothing is made of it before somebody has looked.
        { Status: { Question: not null, Released: null }, Result: ReadResult.Measured shown } => UnitText.Of(shown),
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
            cartridge is { Result: { } result, Status: { } status } ? Told(ResultValue.All(result, status)) : null,
            Former(cartridge),
            cartridge.Status?.Released is not null ? TextWords.Released : null,
            Declined(cartridge.Status?.Declined ?? []));
        return text.Length == 0 ? null : text;
    }

    /// <summary>What a cartridge's result was before it was amended; null where it was not.</summary>
    public static string? Former(Cartridge cartridge)
    {
        ArgumentNullException.ThrowIfNull(cartridge);
        return Amended([.. cartridge.Status?.Earlier.Select(earlier => earlier.Was) ?? []]);
    }

    /// <summary>What a result was before it was amended, the first first; null where it was not.</summary>
    public static string? Amended(ReadResult[] former) => former switch
    {
        [] => null,
        [var only] => Say.Of(BatchesWords.Amended, Of(only)),
        [var first, .. var others] =>
            Say.Of(BatchesWords.AmendedThen, Of(first), string.Join(", ", others.Select(Of))),
    };

    /// <summary>Amendments that a second person declined; null where none was.</summary>
    public static string? Declined(ImmutableArray<DeclinedAmendment> declined) => declined.IsEmpty ? null
        : Say.Dotted([.. declined.Select(one => Say.Of(
            one.IsOwn ? TextWords.AmendmentUndone : TextWords.AmendmentDeclined, Of(one.Proposal.After),
            one.Look.Why))]);

    /// <summary>A patient's value as it goes out, with where it lies.</summary>
    public static string AsReported(MarkedResult marked, string unit)
    {
        ArgumentNullException.ThrowIfNull(marked);
        return Say.Dotted(UnitText.Of(marked.Reported, unit), Flags(marked));
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

    /// <summary>Who was told of each value that a result has had, or why nobody need be; null where none was.</summary>
    public static string? Told(ImmutableArray<ResultValue> values)
    {
        var text = Say.Dotted([.. values.SelectMany((value, index) => new[]
        {
            value.Told is not { } told ? null
                : index == values.Length - 1
                ? Say.Of(told.ReadBack ? TextWords.ToldReadBack : TextWords.ToldNotReadBack, told.Whom)
                : Say.Of(told.ReadBack ? TextWords.EarlierToldReadBack : TextWords.EarlierToldNotReadBack, told.Whom,
                    Of(value.Value)),
            value.Waived is { } waived ? Say.Of(TextWords.TellingWaived, waived.Why) : null,
        })]);
        return text.Length == 0 ? null : text;
    }

    /// <summary>What must be told, and to whom.</summary>
    public static string ToTell(TellingDuty duty)
    {
        ArgumentNullException.ThrowIfNull(duty);
        return duty.Cause switch
        {
            TellingCause.Critical => TextWords.TellCritical,
            TellingCause.EarlierCritical => Say.Of(TextWords.TellEarlierCritical, Of(duty.Untold!)),
            _ => Say.Of(TextWords.TellCorrection, duty.Known?.Whom),
        };
    }

    /// <summary>What is asked about a value.</summary>
    public static string Of(ValueQuestion question) => question switch
    {
        ValueQuestion.LessThanInside => TextWords.HeldLessThan,
        ValueQuestion.MoreThanInside => TextWords.HeldMoreThan,
        ValueQuestion.BelowRange => TextWords.HeldBelowRange,
        ValueQuestion.AboveRange => TextWords.HeldAboveRange,
        _ => TypedWords.HeldNotOneNumber,
    };

    /// <summary>What an assay measures; null where its sheet does not say.</summary>
    public static string? Measures(ResultRule rule, string unit)
    {
        ArgumentNullException.ThrowIfNull(rule);
        return rule.Measuring switch
        {
            { From: { } from, To: { } to } => Say.Of(TextWords.MeasuresBetween, from, to, UnitText.Of(unit)),
            { From: { } from } => Say.Of(TextWords.MeasuresFrom, from, UnitText.Of(unit)),
            { To: { } to } => Say.Of(TextWords.MeasuresUpTo, to, UnitText.Of(unit)),
            _ => null,
        };
    }

    /// <summary>A reason for which a result is amended.</summary>
    public static string Of(AmendmentReason reason) => reason switch
    {
        AmendmentReason.Typed => TextWords.ReasonTyped,
        AmendmentReason.OtherCartridge => TextWords.ReasonOtherCartridge,
        AmendmentReason.Misread => TextWords.ReasonMisread,
        AmendmentReason.MeasuredAgain => TextWords.ReasonMeasuredAgain,
        _ => TextWords.ReasonOtherAmendment,
    };

    /// <summary>Why a result was amended: the reason of the list, and the words.</summary>
    public static string Why(AmendmentReason? reason, string why) =>
        reason is { } one and not AmendmentReason.Other ? $"{Of(one)}. {why}" : why;

    /// <summary>A result as it was entered.</summary>
    public static string Of(ReadResult result) => result switch
    {
        ReadResult.Measured measured => UnitText.Of(measured),
        ReadResult.NoValue none => Say.Of(TextWords.ResultNoValue, none.Code),
        _ => "",
    };
}
