using System.Collections.Immutable;
using System.Globalization;

namespace Incubation.Exchange.Lis;

/// <summary>Writes results as a reader sends them: for readers that are played, and for tests.</summary>
public static class ReaderMessageWriter
{
    /// <summary>Results that follow each other and are of one specimen share an order; each order has a patient of no
    /// name before it.</summary>
    /// <exception cref="ArgumentOutOfRangeException">A status or a use that no letter says.</exception>
    public static LisMessage Write(ReaderMessage message)
    {
        ArgumentNullException.ThrowIfNull(message);
        var records = new Records();
        records.Add("H", new LisField(@"\^&", Delimiters.Usual), Field(message.ControlId), default,
            Field(message.Sender), default, default, default, default, default, default,
            Field(ReaderCodes.CodeOf(message.Use)), Field("LIS02-A2"),
            Field(message.SentAt?.Text));
        var (patients, results) = (0, 0);
        ReaderResult? before = null;
        foreach (var result in message.Results)
        {
            if (before is null || (before.Specimen, before.InstrumentSpecimen, before.IsControl)
                != (result.Specimen, result.InstrumentSpecimen, result.IsControl))
            {
                records.Add("P", Field(++patients));
                records.Add("O", Field(1), Field(result.Specimen),
                    Field(result.InstrumentSpecimen), Field(null, null, null, result.Test), default,
                    default, default, default, default, default, Field(result.IsControl ? "Q" : ""));
                results = 0;
            }

            Add(records, ++results, result);
            before = result;
        }

        records.Add("L", Field(1), Field("N"));
        return new LisMessage(Delimiters.Usual, records.All);
    }

    private static void Add(Records records, int number, ReaderResult result)
    {
        records.Add("R", Field(number), Field(null, null, null, result.Test),
            Field(result.Value.Text), Field(result.Unit), default,
            new LisField(string.Join(Delimiters.Usual.Repeat, result.Flags.Select(flag => Field(flag).Raw)),
                Delimiters.Usual),
            default, Field(ReaderCodes.CodeOf(result.Status)), default, Field(result.Operator),
            Field(result.BegunAt?.Text), Field(result.ReadAt?.Text), Field(result.Instrument));
        for (var at = 0; at < result.Comments.Length; at++)
            records.Add("C", Field(at + 1), Field("I"), Field(result.Comments[at]),
                Field("G"));
    }

    private static LisField Field(params ReadOnlySpan<string?> components) =>
        LisField.Of(Delimiters.Usual, components);

    private static LisField Field(int number) => Field(number.ToString(CultureInfo.InvariantCulture));

    private sealed class Records
    {
        private readonly ImmutableArray<LisRecord>.Builder _records = ImmutableArray.CreateBuilder<LisRecord>();

        public ImmutableArray<LisRecord> All => _records.ToImmutable();

        public void Add(string type, params ReadOnlySpan<LisField> fields) =>
            _records.Add(LisRecord.Of(Delimiters.Usual, _records.Count + 1, type, fields));
    }
}
