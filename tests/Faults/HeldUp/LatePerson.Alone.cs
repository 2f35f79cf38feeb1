using Incubation.Bench;
using NodaTime;

namespace Incubation.Faults.HeldUp;

/// <summary>What is done without the server.</summary>
internal sealed partial class LatePerson
{
    /// <summary>Alone, what was done is told to the screen's box.</summary>
    private void TellAlone(BenchState state)
    {
        if (untold is not { } done)
            return;
        untold = null;
        if (IsStillWanted(state, done))
            Tell(done.Action, done.End, null);
    }

    /// <summary>Without the server the screen goes on with its last plan, re-timed in its own order.</summary>
    private void BeginAlone(BenchState state)
    {
        var page = screen.Alone(state);
        var view = LiveBench.View(page.State, world.Now);
        if (AlarmAct(page.State, view, alone: true) is { } act)
        {
            Begin(act, null, AllowedOf(act));
            return;
        }

        if (page.Offers(world.Now).FirstOrDefault(offer => offer.Hands == hands) is { } offer
            && IsPossible(offer.Action) is { } possible)
        {
            if (offer.MayBegin <= world.Now)
            {
                Begin(possible, offer, AllowedOf(possible));
                return;
            }

            LookAt(Instant.Min(offer.MayBegin, world.Now + Duration.FromSeconds(10)));
            return;
        }

        LookAt(world.Now + Duration.FromSeconds(10));
    }
}
