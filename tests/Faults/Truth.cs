using Incubation.Bench;
using Incubation.Model;
using NodaTime;

namespace Incubation.Faults;

/// <summary>What has really become of one request's cartridge, in true time.</summary>
internal sealed class TrueCartridge(BenchRequest wanted)
{
    public BenchRequest Wanted { get; } = wanted;

    public RequestId Id => Wanted.Request.Id;

    public Assay Assay => Wanted.Assay;

    public Instant? MixEnd { get; set; }

    public Instant? LoadEnd { get; set; }

    /// <summary>When its move to the reader was begun.</summary>
    public Instant? MoveBegin { get; set; }

    /// <summary>When hands started its read; a cartridge that reacts in the reader starts by itself.</summary>
    public Instant? ReadStarted { get; set; }

    public Instant? ClearEnd { get; set; }

    public Instant? ThrownAway { get; set; }

    /// <summary>Where it is, or where the hands that hold it are taking it; null where it is nowhere.</summary>
    public CartridgePlace? Place { get; set; }

    /// <summary>Whether a pair of hands is at it.</summary>
    public bool InHand { get; set; }

    /// <summary>
    /// What the tablet took to be the server's time less the true time, at the load's tap and at the read's.
    /// </summary>
    public Duration OffsetAtLoad { get; set; }

    public Duration OffsetAtRead { get; set; }

    public bool IsGone => ClearEnd is not null || ThrownAway is not null;

    public bool ReactsInReader => ReadStarted is null && Place is CartridgePlace.InReader;

    /// <summary>When its read has started, or will by itself; null while that is nobody's doing yet.</summary>
    public Instant? ReadStart => ReadStarted
        ?? (LoadEnd is { } end && (ReadByItself || ReactsInReader) ? end + Assay.Incubation : null);

    /// <summary>Whether it reacted in the reader.</summary>
    public bool ReadByItself { get; set; }

    public Instant? ReadOver => ReadStart + Assay.Read;

    public Instant? Opens => LoadEnd + Assay.Incubation;

    public Instant? Closes => LoadEnd + Assay.Incubation + Assay.ReadWindow;
}

/// <summary>What really stands on the bench.</summary>
internal sealed class TrueBench
{
    private readonly Dictionary<RequestId, TrueCartridge> cartridges = [];

    public IEnumerable<TrueCartridge> All => cartridges.Values;

    /// <summary>The card that is in each reader.</summary>
    public Dictionary<int, LotCode> Cards { get; } = [];

    /// <summary>Slots and readers that nobody can use now.</summary>
    public HashSet<CartridgePlace> Broken { get; } = [];

    /// <summary>Requests whose specimen is not ready.</summary>
    public HashSet<RequestId> NotReady { get; } = [];

    public TrueCartridge Of(Cartridge cartridge)
    {
        if (!cartridges.TryGetValue(cartridge.Id, out var found))
            cartridges[cartridge.Id] = found = new TrueCartridge(cartridge.Wanted);
        return found;
    }

    public TrueCartridge? Find(RequestId id) => cartridges.GetValueOrDefault(id);

    public TrueCartridge? At(CartridgePlace place) => All.FirstOrDefault(c => !c.IsGone && c.Place == place);

    public TrueCartridge? InReader(ReaderNumber reader) => At(new CartridgePlace.InReader(reader));
}
