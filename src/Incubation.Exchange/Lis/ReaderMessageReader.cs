using System.Collections.Immutable;
using Incubation.Model;
using NodaTime;

namespace Incubation.Exchange.Lis;

/// <summary>
/// Understands the results in a message. Nothing is guessed: a specimen is what O.3 names and nothing else, a value is
/// a number only where it can be read in one way, and what cannot be understood makes its result doubtful and is said.
/// Throws for no message.
/// </summary>
public static class ReaderMessageReader
{
    /// <summary>The longest free text that is kept of a field.</summary>
    private const int MaxText = Bounds.MaxWords;

    /// <summary>Reads bytes as a <see cref="Link"/> has them stored; null where not even a header is there.</summary>
    /// <param name="message">The message.</param>
    /// <param name="encoding">In what it is written.</param>
    /// <param name="zone">In which the reader's clock is set.</param>
    public static (ReaderMessage? Message, ImmutableArray<LisFault> Faults) Read(ReadOnlySpan<byte> message,
        LisEncoding encoding, DateTimeZone zone)
    {
        var reading = LisReader.Read(message, encoding);
        var read = Read(reading, zone);
        return (read, read?.Faults ?? reading.Faults);
    }

    /// <summary>Understands a message that was read; null where not even its header could be.</summary>
    /// <param name="reading">What reading it gave.</param>
    /// <param name="zone">In which the reader's clock is set.</param>
    public static ReaderMessage? Read(LisReading reading, DateTimeZone zone)
    {
        ArgumentNullException.ThrowIfNull(reading);
        ArgumentNullException.ThrowIfNull(zone);
        return reading.Message is { } message ? new Run(reading, message, zone).Read() : null;
    }

    /// <summary>One message's reading: which order and which result the next record belongs to.</summary>
    private sealed class Run(LisReading reading, LisMessage message, DateTimeZone zone)
    {
        private readonly LisFaults _faults = new();
        private readonly List<ReaderResult> _results = [];
        private LisRecord? _order;
        private ImmutableArray<string> _ofMessage = [];
        private ImmutableArray<string> _ofPatient = [];
        private ImmutableArray<string> _ofOrder = [];
        private bool _isDoubtful;
        private bool _mayBeRemarked;
        private Level _level;

        private enum Level
        {
            Message,
            Patient,
            Order,
        }

        public ReaderMessage Read()
        {
            foreach (var fault in reading.Faults)
                _faults.Add(fault.Record, fault.Type, fault.Field, "{0}", fault.What);
            foreach (var record in message.Records)
                Take(record);
            var header = message.Records[0];
            var last = message.Records[^1];
            return new ReaderMessage(Text(header, 5), [.. _results])
            {
                ControlId = Text(header, 3),
                SentAt = Time(header, 14),
                Use = ReaderCodes.UseOf(Text(header, 12).ToUpperInvariant()),
                End = reading.IsWhole ? ReaderCodes.EndOf(Text(last, 3).ToUpperInvariant()) : MessageEnd.None,
                Faults = _faults.All,
            };
        }

        private void Take(LisRecord record)
        {
            _mayBeRemarked &= record.Type is "C" or "M" or "S";
            switch (record.Type)
            {
                case "P":
                    _order = null;
                    _ofPatient = [];
                    _ofOrder = [];
                    _level = Level.Patient;
                    break;
                case "O":
                    _order = record;
                    _ofOrder = [];
                    _level = Level.Order;
                    break;
                case "R":
                    _results.Add(Result(record));
                    _mayBeRemarked = true;
                    break;
                case "C":
                    Remark(record);
                    break;
            }
        }

        /// <summary>
        /// What is remarked of a result, or of all that follows under the message, the patient or the order.
        /// </summary>
        private void Remark(LisRecord record)
        {
            var text = Text(record, 4);
            var isWarning = ReaderCodes.IsWarning(record[5].Component(1).Trim().ToUpperInvariant());
            if (_mayBeRemarked)
                _results[^1] = _results[^1] with
                {
                    Comments = _results[^1].Comments.Add(text),
                    Warnings = isWarning ? _results[^1].Warnings.Add(text) : _results[^1].Warnings,
                };
            else if (isWarning && _level == Level.Order)
                _ofOrder = _ofOrder.Add(text);
            else if (isWarning && _level == Level.Patient)
                _ofPatient = _ofPatient.Add(text);
            else if (isWarning)
                _ofMessage = _ofMessage.Add(text);
        }

        private ReaderResult Result(LisRecord record)
        {
            _isDoubtful = record.IsDamaged || _order is { IsDamaged: true };
            var value = Value(record);
            var flags = record[7].Repeats.Select(flag => flag.Component(1).Trim()).Where(flag => flag.Length > 0)
                .Select(LisFaults.Shown).Take(10).ToImmutableArray();
            if (flags.FirstOrDefault(flag => flag is "<" or ">") is { } sign && value.Comparator?.ToString() != sign)
                Fault(record, 7, LisWords.OffScale, sign, LisFaults.Shown(value.Text));
            var specimen = Specimen(3);
            var result = new ReaderResult(record.Number, specimen, Test(record), value, Text(record, 5),
                Status(record))
            {
                IsSpecimenUnreadable = specimen is null && NamedIn(3) is not null,
                InstrumentSpecimen = Specimen(4),
                IsControl = _order?[12].Component(1).Trim().ToUpperInvariant() == "Q",
                Flags = flags,
                Warnings = [.. _ofMessage, .. _ofPatient, .. _ofOrder, .. flags.Where(ReaderCodes.IsNoPlainFlag)],
                ReadAt = Time(record, 13),
                BegunAt = Time(record, 12),
                Operator = Text(record, 11),
                Instrument = Text(record, 14),
            };
            if (value.Text.Length == 0 && result.Status is not (ReaderResultStatus.NotMeasured
                or ReaderResultStatus.Pending))
                Fault(record, 4, LisWords.NoValue);
            return result with { IsDoubtful = _isDoubtful };
        }

        /// <summary>What the order names as its specimen: its first component, since a place in a rack may follow.
        /// </summary>
        private string? Specimen(int field)
        {
            if (NamedIn(field) is not { } specimen || Bounds.IsIdentifier(specimen))
                return NamedIn(field);
            Fault(_order!, field, LisWords.NoIdentifier, LisFaults.Shown(specimen), TextId.MaximumLength);
            return null;
        }

        private string? NamedIn(int field) =>
            _order?[field].Component(1).Trim() is { Length: > 0 } name ? name : null;

        /// <summary>The maker's own name is the fourth component; where it is empty, the first that is not.</summary>
        private string Test(LisRecord record)
        {
            var name = ((ReadOnlySpan<int>)[4, 1, 2, 3]).ToArray().Select(part => record[3].Component(part).Trim())
                .FirstOrDefault(part => part.Length > 0) ?? "";
            if (name.Length == 0)
                Fault(record, 3, LisWords.NoTest);
            return Printable(record, 3, name);
        }

        private ReaderValue Value(LisRecord record)
        {
            var field = record[4];
            var text = Printable(record, 4, field.HasOneValue ? field.Component(1) : field.Text);
            return field.IsEmpty || field.HasOneValue ? ReaderValue.Of(text) : new ReaderValue(text, null, null);
        }

        private ReaderResultStatus Status(LisRecord record)
        {
            var code = record[9].Component(1).Trim();
            var status = ReaderCodes.StatusOf(code.ToUpperInvariant());
            if (status == ReaderResultStatus.Unknown)
                Fault(record, 9, LisWords.Status, LisFaults.Shown(code));
            return status;
        }

        private ReaderTime? Time(LisRecord record, int field)
        {
            var text = record[field].Component(1).Trim();
            if (text.Length == 0)
                return null;
            if (ReaderTime.Read(text, zone) is { } time)
                return time;
            Fault(record, field, LisWords.NoTime, LisFaults.Shown(text));
            return null;
        }

        private string Text(LisRecord record, int field) => Printable(record, field, record[field].Text.Trim());

        private string Printable(LisRecord record, int field, string text)
        {
            if (text.Length > MaxText)
                text = text[..MaxText];
            if (Bounds.IsPrintable(text))
                return text;
            Fault(record, field, LisWords.NotPrintable, LisFaults.Shown(text));
            return LisFaults.Shown(text);
        }

        private void Fault(LisRecord record, int field, string sentence, params object[] things)
        {
            _isDoubtful = true;
            _faults.Add(record.Number, record.Type, field, sentence, things);
        }
    }
}
