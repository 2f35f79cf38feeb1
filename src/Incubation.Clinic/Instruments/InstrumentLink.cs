using System.Collections.Immutable;
using System.Globalization;
using Incubation.Bench;
using Incubation.Model;
using NodaTime;

namespace Incubation.Clinic.Instruments;

/// <summary>In which encoding an instrument writes; the standards leave it to the two ends.</summary>
public enum WireEncoding
{
    /// <summary>ASCII.</summary>
    Ascii,

    /// <summary>ISO 8859-1.</summary>
    Latin1,

    /// <summary>UTF-8.</summary>
    Utf8,
}

/// <summary>By what an instrument reaches this server.</summary>
public abstract record WireTransport
{
    private WireTransport() { }

    /// <summary>The server listens; the instrument connects.</summary>
    /// <param name="Address">The address of this machine on which it listens, in numbers.</param>
    /// <param name="Port">The port.</param>
    /// <param name="Peers">The addresses from which it takes a connection, at least one; whoever else connects is
    /// counted and cut off.</param>
    public sealed record Tcp(string Address, int Port, ImmutableArray<string> Peers) : WireTransport;

    /// <summary>A serial line: eight bits, no parity, one stop bit.</summary>
    /// <param name="Device">The line's device.</param>
    /// <param name="Speed">Bits a second.</param>
    public sealed record Serial(string Device, int Speed) : WireTransport;
}

/// <summary>A link to an instrument: which reader it is, how it is reached, what its words mean.</summary>
/// <param name="Name">The name that people read.</param>
/// <param name="Bench">The bench to which the reader belongs.</param>
/// <param name="Reader">Which of the bench's readers.</param>
/// <param name="Transport">By what it is reached.</param>
/// <param name="Encoding">In what it writes.</param>
/// <param name="Tests">What its names of tests mean.</param>
/// <param name="OnlyListens">Whether what it sends is shown, and nothing is entered.</param>
public sealed record InstrumentLink(string Name, BenchId Bench, ReaderNumber Reader, WireTransport Transport,
    WireEncoding Encoding, ImmutableArray<ReaderTest> Tests, bool OnlyListens)
{
    /// <summary>The lowest port: those below are the system's own.</summary>
    public const int MinPort = 1024;

    /// <summary>The highest port.</summary>
    public const int MaxPort = 65_535;

    /// <summary>The most addresses from which a connection is taken.</summary>
    public const int MaxPeers = 16;

    /// <summary>The most names of tests.</summary>
    public const int MaxTests = 200;

    /// <summary>The speeds of a serial line, in bits a second.</summary>
    public static ImmutableArray<int> Speeds { get; } =
        [1200, 2400, 4800, 9600, 19_200, 38_400, 57_600, 115_200];

    /// <summary>Whether it can be so at all.</summary>
    public bool IsPossible => Bounds.IsName(Name) && !Tests.IsDefault && Tests.Length <= MaxTests
        && Tests.All(test => Bounds.IsIdentifier(test.Name) && Bounds.IsWords(test.Unit)
            && test.Unit.Length <= TextId.MaximumLength)
        && Tests.DistinctBy(test => test.Name.ToUpperInvariant()).Count() == Tests.Length
        && Transport switch
        {
            WireTransport.Tcp tcp => Bounds.IsIdentifier(tcp.Address) && tcp.Port is >= MinPort and <= MaxPort
                && !tcp.Peers.IsDefault && tcp.Peers.Length is > 0 and <= MaxPeers
                && tcp.Peers.All(Bounds.IsIdentifier) && tcp.Peers.Distinct().Count() == tcp.Peers.Length,
            WireTransport.Serial serial => IsDevice(serial.Device) && Speeds.Contains(serial.Speed),
            _ => false,
        };

    /// <summary>
    /// Whether a text can name a serial line: a device of this machine, and no other file that could be opened so.
    /// </summary>
    public static bool IsDevice(string? device) => Bounds.IsIdentifier(device)
        && (device!.StartsWith("/dev/", StringComparison.Ordinal)
            ? !device.Contains("..", StringComparison.Ordinal)
                && device.All(one => char.IsAsciiLetterOrDigit(one) || one is '/' or '.' or '_' or '-' or ':')
            : device.StartsWith("COM", StringComparison.OrdinalIgnoreCase) && device.Length is > 3 and <= 6
                && device[3..].All(char.IsAsciiDigit));

    /// <summary>Whether nobody could tell which of two links a connection, or a line, belongs to.</summary>
    public bool Collides(InstrumentLink other)
    {
        ArgumentNullException.ThrowIfNull(other);
        return (Transport, other.Transport) switch
        {
            (WireTransport.Tcp one, WireTransport.Tcp two) => one.Address == two.Address && one.Port == two.Port
                && one.Peers.Intersect(two.Peers).Any(),
            (WireTransport.Serial one, WireTransport.Serial two) => one.Device == two.Device,
            _ => false,
        };
    }
}

/// <summary>An instrument as the clinic's stream tells of it.</summary>
/// <param name="Id">Names it in the log.</param>
/// <param name="Link">Its link as it stands.</param>
/// <param name="By">Who set it last.</param>
/// <param name="At">When.</param>
/// <param name="HasEnded">Whether it is used no more.</param>
public sealed record Instrument(InstrumentId Id, InstrumentLink Link, PersonId By, Instant At, bool HasEnded = false)
{
    /// <summary>The id of the n-th instrument.</summary>
    public static InstrumentId IdOf(int number) =>
        new("wire-" + number.ToString(CultureInfo.InvariantCulture));
}
