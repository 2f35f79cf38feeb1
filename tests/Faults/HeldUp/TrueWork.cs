using Incubation.Bench;
using Incubation.Model;
using NodaTime;

namespace Incubation.Faults.HeldUp;

/// <summary>What has really become of one request's cartridge.</summary>
internal sealed class TrueWork(BenchRequest wanted)
{
    public BenchRequest Wanted { get; } = wanted;

    public RequestId Id => Wanted.Request.Id;

    public Assay Assay => Wanted.Assay;

    public Instant? MixEnd { get; set; }

    /// <summary>The earliest that anybody who was not asked can take its mix to have ended.</summary>
    public Instant MixEarliest { get; set; }

    public Instant? LoadEnd { get; set; }

    /// <summary>The earliest that anybody who was not asked can take its load to have ended.</summary>
    public Instant LoadEarliest { get; set; }

    /// <summary>Where it is, or where the hands that hold it put it.</summary>
    public CartridgePlace? Place { get; set; }

    /// <summary>Whether hands are at it, and which step.</summary>
    public StepAction? InHand { get; set; }

    public Instant? ReadStarted { get; set; }

    public bool ReadsByItself { get; set; }

    public Instant? ClearEnd { get; set; }

    public Instant? ThrownAway { get; set; }

    public bool IsGone => ClearEnd is not null || ThrownAway is not null;

    public Instant? ReadStart => ReadStarted ?? (ReadsByItself ? LoadEnd + Assay.Incubation : null);

    public Instant? ReadOver => ReadStart + Assay.Read;

    public Instant? Opens => LoadEnd + Assay.Incubation;

    public Instant? Closes => Opens + Assay.ReadWindow;

    /// <summary>What its loss weighs.</summary>
    public Loss Weight => new(Wanted.Request.RepeatLeft ? 0 : 1, Wanted.Request.Priority == Priority.Urgent ? 1 : 0,
        Wanted.Request.Kind == RequestKind.Patient ? 1 : 0, 1);

    /// <summary>Whether it was truly read inside its window, or will be by itself.</summary>
    public bool IsSaved => ReadStart is { } read && read >= Opens && read <= Closes
        && !(ThrownAway is { } thrown && thrown < ReadOver);

    /// <summary>Whether it was mixed and nothing can save it any more.</summary>
    public bool IsLost(Instant now) => MixEnd is { } mixed && !IsSaved && (IsGone || InHand is StepAction.Discard
        || ReadStart is not null
        || (LoadEnd is null && InHand is not StepAction.Load && now > mixed + Assay.MixToLoad)
        || (Closes < now && InHand is not StepAction.Move));
}
