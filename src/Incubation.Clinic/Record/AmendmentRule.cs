using Incubation.Bench;

namespace Incubation.Clinic.Record;

/// <summary>
/// Which amendments wait for a supervisor: all, where the clinic asks for a second look; else those of somebody who
/// may not release results, of a control's result and of one that was released or is to be.
/// </summary>
/// <remarks>ISO 15189:2022, 7.3.7.2 (quality control is judged before results are released) and 7.4.1.2 (who reviews
/// and releases results is authorized to); from memory. That an aide's amendment waits is this program's own
/// rule.</remarks>
public static class AmendmentRule
{
    /// <summary>Whether an amendment of a result waits.</summary>
    /// <param name="cartridge">Its cartridge; null where there is none.</param>
    /// <param name="second">Whether the clinic asks for a second look.</param>
    /// <param name="decides">Whether who enters it may release results.</param>
    public static bool Waits(Cartridge? cartridge, bool second, bool decides) =>
        second || (!decides && cartridge is { ChangeWaits: true });

    /// <summary>
    /// What is said to a bench for a command: an amendment that waits is proposed, and another result for a cartridge
    /// that has one is an amendment, however it is entered. What is held, and is entered anew, waits as it did.
    /// </summary>
    /// <param name="command">The command.</param>
    /// <param name="bench">The bench.</param>
    /// <param name="second">Whether the clinic asks for a second look.</param>
    /// <param name="decides">Whether who says it may release results.</param>
    /// <param name="identity">Whether it is known that they said it.</param>
    /// <param name="enteredAgain">The reason of what is entered anew, in words.</param>
    public static BenchCommand Said(BenchCommand command, BenchState bench, bool second, bool decides,
        Identity identity, string enteredAgain)
    {
        ArgumentNullException.ThrowIfNull(bench);
        return command switch
        {
            BenchCommand.AmendResult amend when Waits(bench.Find(amend.Request), second, decides) =>
                new BenchCommand.ProposeAmendment(amend.Request, amend.Result, amend.Why, amend.Reason)
                {
                    Seen = amend.Seen,
                },
            BenchCommand.ResultEntered entered when identity == Identity.Checked
                && bench.Find(entered.Request) is { Result: { } result, Wanted.Unit: var unit } cartridge
                && entered.Result.In(unit) != result
                && (second || (!decides && cartridge.EntryIsAmendment)) =>
                new BenchCommand.ProposeAmendment(entered.Request, entered.Result, enteredAgain),
            _ => command,
        };
    }
}
