using NodaTime;
using Stage = Incubation.Clinic.Tests.Gates.GateOracle.Stage;

namespace Incubation.Clinic.Tests.Gates;

/// <summary>
/// Which steps can happen at all where hands and things are as they are, and when: what cannot is told to nobody.
/// </summary>
internal static class StepSense
{
    /// <summary>No step is timed nearer to a window's ends than this: a load's end is known so well only.</summary>
    private static readonly Duration Margin = Duration.FromSeconds(30);

    /// <summary>Whether a step can happen.</summary>
    public static bool CanHappen(GateOracle clinic, Step step, Instant now)
    {
        GateOracle.Cart? Of(string id) => clinic.Find(id);
        bool IsThere(string id) => Of(id) is { IsClosed: false, Result: not null, Stage: not Stage.Gone };
        bool IsTakenByAnother(GateOracle.Cart cart) => clinic.Carts.Any(other => other.Bench == cart.Bench
            && other != cart && other.Stage == Stage.Reading);
        bool IsStillIn(GateOracle.Cart cart) => !IsTakenByAnother(cart) && !clinic.Carts.Any(
            other => other.Bench == cart.Bench && other.ReadAt > cart.ReadAt);
        return step switch
        {
            Step.Came came => Of(came.Cart) is null && clinic.IsIn(came.Lot),
            Step.Told told => IsThere(told.Cart),
            Step.Waived waived => IsThere(waived.Cart),
            Step.Compared => clinic.Lots.All(clinic.IsIn),
            Step.Begun begun => Of(begun.Cart) is { Stage: Stage.Waiting, IsClosed: false },
            Step.Read read => Of(read.Cart) is { IsInWork: true } cart && !IsTakenByAnother(cart),
            Step.Entered entered => Of(entered.Cart) is { Stage: Stage.Reading or Stage.Read, IsClosed: false },
            Step.TakenBack back => Of(back.Cart) is { Result: not null, IsClosed: false },
            Step.Never never => Of(never.Cart) is { IsClosed: false } cart && never.What switch
            {
                "mix" => cart.IsInWork || cart.Stage == Stage.Read,
                "read" => cart.Stage is Stage.Read or Stage.Reading,
                "discard" => cart.Stage == Stage.Gone && cart.Thrown != Stage.Waiting
                    && (cart.Thrown != Stage.Reading || IsStillIn(cart)),
                _ => cart.Stage == Stage.Read && IsStillIn(cart),
            },
            Step.LoadWas was => Of(was.Cart) is { IsClosed: false } cart && (cart.IsInWork || cart.Stage == Stage.Read)
                && cart.Mixed + Duration.FromMinutes(was.Minutes) is var load && load != cart.Loaded
                && load < (cart.ReadAt ?? now) - Margin
                && (cart.ReadAt is not { } at || !IsNearAnEnd(load, at)),
            Step.Answered answered => Of(answered.Cart) is { IsClosed: false, ReadAt: not null, Stage: not Stage.Gone },
            Step.ReadAgain again => Of(again.Cart) is { Stage: Stage.InWork, IsClosed: false, DeniedRead: { } at } cart
                && at > cart.Loaded + Margin && at + GateOracle.ToClear < now && !IsNearAnEnd(cart.Loaded, at)
                && !IsTakenByAnother(cart) && !clinic.Carts.Any(other => other.Bench == cart.Bench && other != cart
                    && other.ReadAt is not null && other.Out > at),
            Step.Discarded discarded => Of(discarded.Cart) is { IsClosed: false } cart
                && (cart.IsInWork || cart.Stage == Stage.Read),
            Step.Withdrawn withdrawn => Of(withdrawn.Cart) is { Stage: Stage.Waiting, IsClosed: false },
            Step.Released released => Of(released.Cart) is { Stage: not Stage.Gone } cart
                && (!cart.IsClosed || cart.Waits),
            Step.Amended amended => Of(amended.Cart) is { Stage: not Stage.Gone } cart
                && (!cart.IsClosed || cart.Result!.Value != amended.Value),
            Step.Proposed amended => Of(amended.Cart) is { Stage: not Stage.Gone } cart
                && (!cart.IsClosed || cart.Result!.Value != amended.Value),
            Step.Looked looked => Of(looked.Cart) is { Stage: not Stage.Gone } cart
                && (!cart.IsClosed || cart.Proposal is not null),
            _ => true,
        };
    }

    /// <summary>When a step happens that is wanted at an instant: a read waits for its cartridge.</summary>
    public static Instant When(GateOracle clinic, Step step, Instant now)
    {
        if (step is not Step.Read read || clinic.Find(read.Cart) is not { Stage: Stage.InWork } cart)
            return now;
        var from = cart.Loaded + GateOracle.Reaction + Margin + Margin
            + (read.Late ? GateOracle.Window : Duration.Zero);
        return now < from ? from : IsNearAnEnd(cart.Loaded, now) ? now + Margin + Margin : now;
    }

    /// <summary>When the next step can come at the earliest.</summary>
    public static Instant Ends(Step step, Instant at) => step switch
    {
        Step.Begun => at + GateOracle.ToLoad,
        Step.Read => at + GateOracle.ToClear,
        _ => at,
    };

    private static bool IsNearAnEnd(Instant loaded, Instant read) =>
        Near(read, loaded + GateOracle.Reaction) || Near(read, loaded + GateOracle.Reaction + GateOracle.Window);

    private static bool Near(Instant one, Instant other) => one - other < Margin && other - one < Margin;
}
