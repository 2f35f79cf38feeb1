using Incubation.Bench;
using Incubation.Model;
using Incubation.Records.Batches;
using NodaTime;

namespace Incubation.Records.Export;

/// <summary>
/// What became of results after they were entered, as comma-separated values (<see cref="Csv"/>): a line for each
/// value that was typed again, for each amendment, whether it was made, waits or was declined, and for each telling,
/// whether somebody was told, need not be or is still to be told. Times are ISO 8601 in the clinic's zone with their
/// offset. The room's README says what each column holds; the names of a cartridge are those of
/// <see cref="CartridgeCsv"/>.
/// </summary>
/// <remarks>A corrected report and the original are both kept and told apart: 42 CFR 493.1291(k); ISO 15189:2022,
/// 7.4.1.8; from memory.</remarks>
public static class AmendmentCsv
{
    private static readonly (string Name, Func<CartridgeRecord, object?> Of)[] OfCartridge =
    [
        ("bench", one => one.Bench.Value),
        ("batch", one => one.Batch),
        ("request", one => one.Request.Value),
        ("specimen", one => one.Specimen.Value),
        ("assay", one => one.Assay.Value),
        ("lot", one => one.Lot.Value),
        ("kind", one => KebabCase.Of(one.Kind)),
    ];

    private static readonly (string Name, Func<Said, DateTimeZone, object?> Of)[] OfSaid =
    [
        ("what", (said, _) => said.What),
        ("at", (said, zone) => Csv.At(said.At, zone)),
        ("by", (said, _) => said.By?.Value),
        ("valueOrder", (said, _) => said.Order),
        ("before", (said, _) => Csv.Of(said.Before)),
        ("value", (said, _) => Csv.Of(said.Value)),
        ("unit", (said, _) => ((said.Value ?? said.Before) as ReadResult.Measured)?.Unit),
        ("reason", (said, _) => said.Reason is { } reason ? KebabCase.Of(reason) : null),
        ("words", (said, _) => said.Words),
        ("secondAt", (said, zone) => Csv.At(said.Second?.At, zone)),
        ("secondBy", (said, _) => said.Second?.By.Value),
        ("secondWords", (said, _) => said.Second?.Why),
        ("whom", (said, _) => said.Whom),
        ("readBack", (said, _) => said.ReadBack is { } read ? read ? "yes" : "no" : null),
        ("due", (said, _) => said.Due is { } due ? KebabCase.Of(due) : null),
    ];

    /// <summary>The names of the columns in their order.</summary>
    public static IEnumerable<string> Names => OfCartridge.Select(column => column.Name).Append("order")
        .Concat(OfSaid.Select(column => column.Name));

    /// <summary>The header and the lines, each with its CRLF; of each cartridge in order of time.</summary>
    /// <param name="cartridges">The cartridges; those of which nothing was said have no line.</param>
    /// <param name="zone">The clinic's zone.</param>
    public static IEnumerable<string> Lines(IEnumerable<CartridgeRecord> cartridges, DateTimeZone zone)
    {
        ArgumentNullException.ThrowIfNull(cartridges);
        ArgumentNullException.ThrowIfNull(zone);
        yield return Csv.Line(Names);
        foreach (var one in cartridges)
        {
            // What is still to be told has no time yet, and comes last.
            var all = OfReplaced(one).Concat(OfValues(one)).Concat(OfProposals(one))
                .OrderBy(said => said.At ?? Instant.MaxValue);
            foreach (var (at, said) in all.Index())
                yield return Csv.Line([.. OfCartridge.Select(column => column.Of(one)), at + 1,
                    .. OfSaid.Select(column => column.Of(said, zone))]);
        }
    }

    private static IEnumerable<Said> OfValues(CartridgeRecord one)
    {
        var values = one.Values?.Values ?? [];
        for (var at = 0; at < values.Length; at++)
        {
            var value = values[at];
            if (at > 0)
                yield return new Said("amended", value.At, value.By)
                {
                    Order = at + 1,
                    Before = values[at - 1].Value,
                    Value = value.Value,
                    Reason = value.Reason,
                    Words = value.Why,
                    Second = value.Second,
                };
            if (value.Told is { } told)
                yield return new Said("told", told.At, told.By)
                {
                    Order = at + 1,
                    Value = value.Value,
                    Words = told.Why,
                    Whom = told.Whom,
                    ReadBack = told.ReadBack,
                };
            if (value.Waived is { } waived)
                yield return new Said("waived", waived.At, waived.By)
                {
                    Order = at + 1,
                    Value = value.Value,
                    Words = waived.Why,
                };
        }

        if (one.Telling is { } duty)
            yield return new Said("to-tell", null, null)
            {
                Order = values.Length,
                Before = duty.Untold,
                Value = one.Result,
                Whom = duty.Known?.Whom,
                Due = duty.Cause,
            };
    }

    /// <summary>What was typed anew; the value after the last of them is the first that counts.</summary>
    private static IEnumerable<Said> OfReplaced(CartridgeRecord one) => one.Replaced.Select((replaced, at) =>
        new Said("replaced", replaced.At, replaced.By)
        {
            Before = replaced.Was,
            Value = at + 1 < one.Replaced.Length ? one.Replaced[at + 1].Was : one.Values?.Values[0].Value,
            Words = replaced.Why,
        });

    private static IEnumerable<Said> OfProposals(CartridgeRecord one)
    {
        foreach (var no in one.Declined)
            yield return Proposed("declined", no.Proposal) with { Second = no.Look };
        if (one.Proposal is { } waits)
            yield return Proposed("waits", waits);
    }

    private static Said Proposed(string what, AmendmentProposal proposal) => new(what, proposal.At, proposal.By)
    {
        Before = proposal.Before,
        Value = proposal.After,
        Reason = proposal.Reason,
        Words = proposal.Why,
    };

    /// <summary>What was said of a result: a line.</summary>
    private sealed record Said(string What, Instant? At, PersonId? By)
    {
        /// <summary>Of which value of the result, the first one being 1; null where it never was its value.</summary>
        public int? Order { get; init; }

        public ReadResult? Before { get; init; }

        public ReadResult? Value { get; init; }

        public AmendmentReason? Reason { get; init; }

        public string? Words { get; init; }

        public SecondLook? Second { get; init; }

        public string? Whom { get; init; }

        public bool? ReadBack { get; init; }

        public TellingCause? Due { get; init; }
    }
}
