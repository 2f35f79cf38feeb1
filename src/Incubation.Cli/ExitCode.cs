namespace Incubation.Cli;

/// <summary>What the command line gives back to the program that called it: a contract.</summary>
public static class ExitCode
{
    /// <summary>Done.</summary>
    public const int Done = 0;

    /// <summary>A plan breaks a rule, a copied record does not replay, or a verified one is not whole.</summary>
    public const int RuleBroken = 1;

    /// <summary>
    /// The input, or the command line itself, cannot be understood or contradicts itself, or what was asked for was
    /// refused; nothing was written.
    /// </summary>
    public const int NotUnderstood = 2;

    /// <summary>Planned, or checked and valid, with requests unplaced or lost.</summary>
    public const int LeftOut = 3;

    /// <summary>
    /// Done, but the record's signatures were not checked, for want of its key or of signatures.
    /// </summary>
    public const int NotChecked = 4;

    /// <summary>
    /// Interrupted by Ctrl-C before it was done; nothing was written. The customary code: 128 + the signal's number.
    /// </summary>
    public const int Interrupted = 130;
}
