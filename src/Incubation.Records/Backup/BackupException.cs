namespace Incubation.Records.Backup;

/// <summary>Why a backup was not made, or not put back.</summary>
public enum BackupProblem
{
    /// <summary>There is no file to copy.</summary>
    Missing,

    /// <summary>Something stands already where the copy is to be.</summary>
    TargetExists,

    /// <summary>The copy cannot be written.</summary>
    CannotWrite,

    /// <summary>What was copied does not replay.</summary>
    Broken,

    /// <summary>The present data file holds events that the backup has not.</summary>
    Older,

    /// <summary>The backup is of another clinic, or of another course of events.</summary>
    Foreign,

    /// <summary>The backup holds events and no signatures, and nobody said that it is to be put back so.</summary>
    Unsigned,

    /// <summary>The certificate that a backup is to be encrypted to cannot be used.</summary>
    RecipientUnusable,

    /// <summary>The backup is encrypted, and its private key was not given or does not open it.</summary>
    PrivateKeyUnusable,

    /// <summary>The present data file cannot be read, so that nobody can say what would be lost.</summary>
    PresentUnreadable,
}

/// <summary>A backup was not made or not put back; the message says what is wrong and what to do.</summary>
public sealed class BackupException : Exception
{
    internal BackupException(BackupProblem problem, string message, Exception? inner = null)
        : base(message, inner) => Problem = problem;

    /// <summary>Why.</summary>
    public BackupProblem Problem { get; }
}
