using System.Collections.Immutable;
using System.Globalization;
using System.Net;
using Incubation.Bench;
using Incubation.Clinic.Instruments;
using Incubation.Model;
using Incubation.Service.Text;

namespace Incubation.Service.Instruments;

/// <summary>A link to an instrument as it was filled in.</summary>
public sealed class InstrumentForm
{
    /// <summary>The name that people read.</summary>
    public string? Name { get; set; }

    /// <summary>Id of the bench.</summary>
    public string? Bench { get; set; }

    /// <summary>Which of its readers.</summary>
    public string? Reader { get; set; } = "1";

    /// <summary>By what: <see cref="Tcp"/> or <see cref="Serial"/>.</summary>
    public string? By { get; set; } = Tcp;

    /// <summary>The address on which the server listens.</summary>
    public string? Address { get; set; } = "127.0.0.1";

    /// <summary>The port.</summary>
    public string? Port { get; set; }

    /// <summary>The addresses that may connect, between commas or blanks.</summary>
    public string? Peers { get; set; }

    /// <summary>The device of a serial line.</summary>
    public string? Device { get; set; }

    /// <summary>Its speed.</summary>
    public string? Speed { get; set; } = "9600";

    /// <summary>By its name in <see cref="WireEncoding"/>.</summary>
    public string? Encoding { get; set; } = nameof(WireEncoding.Ascii);

    /// <summary>The table of tests: a line each, "name = assay = unit".</summary>
    public string? Tests { get; set; }

    /// <summary>Whether what it sends is only shown; yes at first.</summary>
    public string? OnlyListens { get; set; } = Yes;

    /// <summary>The server listens.</summary>
    public const string Tcp = "tcp";

    /// <summary>A serial line.</summary>
    public const string Serial = "serial";

    /// <summary>Of what is on or off.</summary>
    public const string Yes = "yes";

    /// <summary>Of what is on or off.</summary>
    public const string No = "no";

    /// <summary>A link as it stands, to be changed.</summary>
    public static InstrumentForm Of(InstrumentLink link)
    {
        ArgumentNullException.ThrowIfNull(link);
        var (tcp, serial) = (link.Transport as WireTransport.Tcp, link.Transport as WireTransport.Serial);
        return new InstrumentForm
        {
            Name = link.Name,
            Bench = link.Bench.Value,
            Reader = link.Reader.ToString(),
            By = serial is null ? Tcp : Serial,
            Address = tcp?.Address ?? "127.0.0.1",
            Port = tcp?.Port.ToString(CultureInfo.InvariantCulture),
            Peers = tcp is null ? null : string.Join(", ", tcp.Peers),
            Device = serial?.Device,
            Speed = (serial?.Speed ?? 9600).ToString(CultureInfo.InvariantCulture),
            Encoding = link.Encoding.ToString(),
            Tests = string.Join('\n', link.Tests.Select(test => $"{test.Name} = {test.Assay} = {test.Unit}")),
            OnlyListens = link.OnlyListens ? Yes : No,
        };
    }

    /// <summary>Reads it, once: what is wrong stands by member, and then there is no link.</summary>
    /// <param name="readersOf">How many readers a bench has; null where there is no such bench.</param>
    /// <param name="isAssay">Whether there is an approved sheet of that code.</param>
    public (InstrumentLink? Link, IReadOnlyList<FormFault> Faults) Read(Func<string, int?> readersOf,
        Func<AssayCode, bool> isAssay)
    {
        ArgumentNullException.ThrowIfNull(readersOf);
        var faults = new List<FormFault>();
        var name = Name?.Trim() ?? "";
        if (!Bounds.IsName(name))
            faults.Add(new FormFault(nameof(Name), InstrumentWords.NameFault));
        var readers = Bench is { Length: > 0 } bench ? readersOf(bench) : null;
        if (readers is null)
            faults.Add(new FormFault(nameof(Bench), InstrumentWords.BenchFault));
        var reader = TypedNumber.Whole(Reader, 1, readers ?? 1, out var readerFault);
        if (readerFault is not null)
            faults.Add(new FormFault(nameof(Reader), readerFault));
        WireTransport? transport = By == Serial ? ReadSerial(faults) : ReadTcp(faults);
        if (!Enum.TryParse<WireEncoding>(Encoding, out var encoding) || !Enum.IsDefined(encoding))
            faults.Add(new FormFault(nameof(Encoding), InstrumentWords.ChooseFault));
        var tests = ReadTests(faults, isAssay);
        return faults.Count > 0 ? (null, faults) : (new InstrumentLink(name, new BenchId(Bench!),
            new ReaderNumber(reader!.Value), transport!, encoding, tests, OnlyListens != No), []);
    }

    private WireTransport.Tcp? ReadTcp(List<FormFault> faults)
    {
        var before = faults.Count;
        var address = AddressOf(Address);
        if (address is null)
            faults.Add(new FormFault(nameof(Address), InstrumentWords.AddressFault));
        var port = TypedNumber.Whole(Port, InstrumentLink.MinPort, InstrumentLink.MaxPort, out var portFault);
        if (portFault is not null)
            faults.Add(new FormFault(nameof(Port), portFault));
        var peers = (Peers ?? "").Split([',', ' ', ';', '\n'],
            StringSplitOptions.RemoveEmptyEntries | StringSplitOptions.TrimEntries).Select(AddressOf).ToList();
        if (peers.Count is 0 or > InstrumentLink.MaxPeers || peers.Contains(null)
            || peers.Any(peer => peer == "0.0.0.0" || peer == "::"))
            faults.Add(new FormFault(nameof(Peers), Say.Of(InstrumentWords.PeersFault, InstrumentLink.MaxPeers)));
        return faults.Count > before ? null
            : new WireTransport.Tcp(address!, port!.Value, [.. peers.OfType<string>().Distinct()]);
    }

    private WireTransport.Serial? ReadSerial(List<FormFault> faults)
    {
        var before = faults.Count;
        var device = Device?.Trim();
        if (!InstrumentLink.IsDevice(device))
            faults.Add(new FormFault(nameof(Device), InstrumentWords.DeviceFault));
        if (!int.TryParse(Speed, NumberStyles.None, CultureInfo.InvariantCulture, out var speed)
            || !InstrumentLink.Speeds.Contains(speed))
            faults.Add(new FormFault(nameof(Speed), InstrumentWords.ChooseFault));
        return faults.Count > before ? null : new WireTransport.Serial(device!, speed);
    }

    /// <summary>A line each; the unit is left out where the reader writes none.</summary>
    private ImmutableArray<ReaderTest> ReadTests(List<FormFault> faults, Func<AssayCode, bool> isAssay)
    {
        var tests = ImmutableArray.CreateBuilder<ReaderTest>();
        var lines = (Tests ?? "").Split('\n');
        for (var at = 0; at < lines.Length && faults.TrueForAll(fault => fault.Member != nameof(Tests)); at++)
        {
            if (string.IsNullOrWhiteSpace(lines[at]))
                continue;
            var parts = lines[at].Split('=', 3, StringSplitOptions.TrimEntries);
            string? fault = null;
            if (parts.Length < 2 || !Bounds.IsIdentifier(parts[0])
                || (parts.Length == 3 && parts[2].Length > 0 && !Bounds.IsIdentifier(parts[2])))
                fault = Say.Of(InstrumentWords.TestFault, at + 1);
            else if (!TextId.IsValid(parts[1]) || !isAssay(new AssayCode(parts[1])))
                fault = Say.Of(InstrumentWords.TestAssayFault, at + 1, parts[1]);
            else if (tests.Any(test => string.Equals(test.Name, parts[0], StringComparison.OrdinalIgnoreCase)))
                fault = Say.Of(InstrumentWords.TestTwice, at + 1, parts[0]);
            else if (tests.Count == InstrumentLink.MaxTests)
                fault = Say.Of(InstrumentWords.TestsTooMany, InstrumentLink.MaxTests);
            if (fault is null)
                tests.Add(new ReaderTest(parts[0], new AssayCode(parts[1]), parts.ElementAtOrDefault(2) ?? ""));
            else
                faults.Add(new FormFault(nameof(Tests), fault));
        }

        return tests.ToImmutable();
    }

    /// <summary>An address in numbers, in its one form; null where it is none, or a short form of one.</summary>
    private static string? AddressOf(string? text) => text?.Trim() is { Length: > 0 and <= TextId.MaximumLength } typed
        && IPAddress.TryParse(typed, out var address)
        && (address.ToString() == typed || typed.Contains(':', StringComparison.Ordinal)) ? address.ToString() : null;
}
