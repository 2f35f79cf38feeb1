using Incubation.Bench;
using Incubation.Clinic.People;
using Incubation.Service.Batches;
using Incubation.Service.Clock;
using Incubation.Service.Commands;
using Incubation.Service.People;
using Incubation.Service.Screens;
using Incubation.Service.Text;
using NodaTime;

namespace Incubation.Server.Pages.Batch;

/// <summary>What became of something that a page said to a bench.</summary>
/// <param name="IsRecorded">Whether it stands in the log.</param>
/// <param name="Trouble">Why not, in a sentence; else null.</param>
internal readonly record struct Said(bool IsRecorded, string? Trouble);

/// <summary>Says something to a bench for a page: whatever goes wrong is a sentence for the page.</summary>
internal static class BenchSaying
{
    /// <summary>Says a command, now or of an earlier time.</summary>
    /// <param name="desk">Where every screen comes to.</param>
    /// <param name="actor">Who; null where the sign-in has ended.</param>
    /// <param name="bench">Id of the bench.</param>
    /// <param name="command">Makes the command of what was typed.</param>
    /// <param name="clock">The clinic's time.</param>
    /// <param name="log">Takes a fault of ours.</param>
    /// <param name="at">When it happened; null for now.</param>
    public static async Task<Said> SayAsync(BenchService desk, Actor? actor, string bench, Func<BenchCommand> command,
        BenchClock clock, ILogger log, Instant? at = null)
    {
        try
        {
            if (actor is null)
                return new Said(false, ServiceWords.SignInFirst);
            var provenance = Provenances.Of(actor, clock);
            var answer = await desk.SendAsync(actor, bench,
                new CommandEnvelope(command(), provenance with { At = at ?? provenance.At }));
            return new Said(answer.Recorded, answer.Recorded ? null
                : answer.RetryAfter is null ? answer.Sentence : Say.Of(BatchPageWords.TryAgain, answer.Sentence));
        }
        catch (UnreadableException unreadable)
        {
            return new Said(false, unreadable.Message);
        }
        catch (Exception fault) when (fault is not OutOfMemoryException)
        {
            log.LogError(fault, "A page could not send a command to {Bench}.", bench);
            return new Said(false, ServiceWords.CommandFailed);
        }
    }
}

/// <summary>The command of a result that was typed.</summary>
internal static class ResultCommands
{
    /// <summary>Enters it where none stands: somebody else may have entered one since this page showed none.</summary>
    public static BenchCommand Of(ResultEntry entry) => new BenchCommand.ResultEntered(
        entry.Request, CommandMembers.Result(entry.Value, entry.NoValue),
        new ShownIdentity(CommandMembers.FreeWords(entry.Shown)))
    {
        OnlyFirst = true,
    };
}
