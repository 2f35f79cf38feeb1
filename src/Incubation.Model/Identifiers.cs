namespace Incubation.Model;

/// <summary>An identifier that people read: 1 to 64 printable characters, no space at either end.</summary>
public interface ITextId<TSelf>
    where TSelf : struct, ITextId<TSelf>
{
    /// <summary>The identifier as people read it.</summary>
    string Value { get; }

    /// <summary>
    /// Makes an identifier; throws <see cref="ArgumentException"/> where <see cref="TextId.IsValid"/> is false, or
    /// where it breaks a further rule of its own.
    /// </summary>
    static abstract TSelf Of(string value);
}

/// <summary>A thing that is counted on the bench, from 1.</summary>
public interface INumberId<TSelf>
    where TSelf : struct, INumberId<TSelf>
{
    /// <summary>The number painted on the thing, from 1.</summary>
    int Value { get; }

    /// <summary>Makes a number; throws <see cref="ArgumentOutOfRangeException"/> below 1.</summary>
    static abstract TSelf Of(int value);
}

/// <summary>What every textual identifier must look like.</summary>
public static class TextId
{
    /// <summary>The longest identifier, in characters.</summary>
    public const int MaximumLength = 64;

    /// <summary>Whether a text can be an identifier.</summary>
    public static bool IsValid(string? value) =>
        value is { Length: > 0 and <= MaximumLength }
        && !char.IsWhiteSpace(value[0]) && !char.IsWhiteSpace(value[^1])
        && !value.Any(char.IsControl);

    internal static string Require(string value, string what) =>
        IsValid(value)
            ? value
            : throw new ArgumentException(
                $"A {what} has 1 to {MaximumLength} printable characters and no space at either end.", nameof(value));

    internal static int RequireNumber(int value, string what) =>
        value >= 1 ? value : throw new ArgumentOutOfRangeException(nameof(value), value, $"A {what} counts from 1.");
}

/// <summary>
/// A request, and so the one cartridge that is run for it: a repeat is a request with an id of its own.
/// </summary>
public readonly record struct RequestId : ITextId<RequestId>
{
    public RequestId(string value) => Value = TextId.Require(value, "request id");
    public string Value { get; }
    public static RequestId Of(string value) => new(value);
    public override string ToString() => Value;
}

/// <summary>What was collected from a patient, or taken from a control material.</summary>
public readonly record struct SpecimenId : ITextId<SpecimenId>
{
    public SpecimenId(string value) => Value = TextId.Require(value, "specimen id");
    public string Value { get; }
    public static SpecimenId Of(string value) => new(value);
    public override string ToString() => Value;
}

/// <summary>The short code of an assay in the clinic's catalogue.</summary>
public readonly record struct AssayCode : ITextId<AssayCode>
{
    public AssayCode(string value) => Value = TextId.Require(value, "assay code");
    public string Value { get; }
    public static AssayCode Of(string value) => new(value);
    public override string ToString() => Value;
}

/// <summary>A kit lot, and so the reader card that carries its calibration.</summary>
public readonly record struct LotCode : ITextId<LotCode>
{
    public LotCode(string value) => Value = TextId.Require(value, "lot code");
    public string Value { get; }
    public static LotCode Of(string value) => new(value);
    public override string ToString() => Value;
}

/// <summary>A bench of the clinic: the unit that is planned and owned.</summary>
public readonly record struct BenchId : ITextId<BenchId>
{
    public BenchId(string value) => Value = TextId.Require(value, "bench id");
    public string Value { get; }
    public static BenchId Of(string value) => new(value);
    public override string ToString() => Value;
}

/// <summary>A panel: several assays that are wanted by one name.</summary>
public readonly record struct PanelName : ITextId<PanelName>
{
    public PanelName(string value) => Value = TextId.Require(value, "panel");
    public string Value { get; }
    public static PanelName Of(string value) => new(value);
    public override string ToString() => Value;
}

/// <summary>Where orders come from: another program, a file, a person's list.</summary>
public readonly record struct OrderSource : ITextId<OrderSource>
{
    public OrderSource(string value) => Value = TextId.Require(value, "order source");
    public string Value { get; }
    public static OrderSource Of(string value) => new(value);
    public override string ToString() => Value;
}

/// <summary>What an order is called where it comes from.</summary>
public readonly record struct OrderNumber : ITextId<OrderNumber>
{
    public OrderNumber(string value) => Value = TextId.Require(value, "order number");
    public string Value { get; }
    public static OrderNumber Of(string value) => new(value);
    public override string ToString() => Value;
}

/// <summary>Who did something; until sign-in exists, the name of the kind of actor.</summary>
public readonly record struct PersonId : ITextId<PersonId>
{
    public PersonId(string value) => Value = TextId.Require(value, "person");
    public string Value { get; }
    public static PersonId Of(string value) => new(value);
    public override string ToString() => Value;
}

/// <summary>The tablet, screen or program through which something was reported.</summary>
public readonly record struct DeviceId : ITextId<DeviceId>
{
    public DeviceId(string value) => Value = TextId.Require(value, "device");
    public string Value { get; }
    public static DeviceId Of(string value) => new(value);
    public override string ToString() => Value;
}

/// <summary>An instrument that sends its results by wire, as the log names it.</summary>
public readonly record struct InstrumentId : ITextId<InstrumentId>
{
    public InstrumentId(string value) => Value = TextId.Require(value, "instrument id");
    public string Value { get; }
    public static InstrumentId Of(string value) => new(value);
    public override string ToString() => Value;
}

/// <summary>Somewhere else that is told of results or alarms, as the log names it.</summary>
public readonly record struct DestinationId : ITextId<DestinationId>
{
    public DestinationId(string value) => Value = TextId.Require(value, "destination id");
    public string Value { get; }
    public static DestinationId Of(string value) => new(value);
    public override string ToString() => Value;
}

/// <summary>One report or instruction, named by whoever sends it, so that sending it again is harmless.</summary>
public readonly record struct ReportId : ITextId<ReportId>
{
    public ReportId(string value) => Value = TextId.Require(value, "report id");
    public string Value { get; }
    public static ReportId Of(string value) => new(value);
    public override string ToString() => Value;
}

/// <summary>A slot of the bench's incubator.</summary>
public readonly record struct SlotNumber : INumberId<SlotNumber>
{
    public SlotNumber(int value) => Value = TextId.RequireNumber(value, "slot");
    public int Value { get; }
    public static SlotNumber Of(int value) => new(value);
    public override string ToString() => Value.ToString(System.Globalization.CultureInfo.InvariantCulture);
}

/// <summary>A reader of the bench.</summary>
public readonly record struct ReaderNumber : INumberId<ReaderNumber>
{
    public ReaderNumber(int value) => Value = TextId.RequireNumber(value, "reader");
    public int Value { get; }
    public static ReaderNumber Of(int value) => new(value);
    public override string ToString() => Value.ToString(System.Globalization.CultureInfo.InvariantCulture);
}

/// <summary>A pair of hands at the bench.</summary>
public readonly record struct HandsNumber : INumberId<HandsNumber>
{
    public HandsNumber(int value) => Value = TextId.RequireNumber(value, "pair of hands");
    public int Value { get; }
    public static HandsNumber Of(int value) => new(value);
    public override string ToString() => Value.ToString(System.Globalization.CultureInfo.InvariantCulture);
}
