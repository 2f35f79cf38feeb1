using Incubation.Model;

namespace Incubation.Bench;

/// <summary>Why a request is not planned; hosts have the words.</summary>
public enum NotPlannedCause
{
    /// <summary>It is not ready, and nobody has said when it will be.</summary>
    HeldBack,

    /// <summary>Every reader is out of use.</summary>
    NoReader,

    /// <summary>Every slot is out of use.</summary>
    NoSlot,

    /// <summary>All hands are away.</summary>
    NoHands,

    /// <summary>It wants another temperature than its batch runs at: it stands aside for a later one.</summary>
    OtherTemperature,

    /// <summary>Something that must be ready before it is started is not; the readiness list names it.</summary>
    NotReady,

    /// <summary>The controls of its kit lot are not accepted, and none is under way.</summary>
    ControlsAwaited,

    /// <summary>A control of its kit lot was rejected.</summary>
    ControlsFailed,

    /// <summary>No plan can be made with it: it is set aside, so that the rest is planned.</summary>
    SetAside,

    /// <summary>It comes after a request that is not planned.</summary>
    AfterNotPlanned,

    /// <summary>Nobody knows whether its mix was done.</summary>
    StepNotKnown,
}

/// <summary>A request that waits without a plan.</summary>
public sealed record NotPlanned(RequestId Request, NotPlannedCause Cause);
