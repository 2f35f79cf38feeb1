namespace Incubation.Records;

/// <summary>Why a data file was not opened.</summary>
public enum DataFileProblem
{
    /// <summary>Another process has it open.</summary>
    InUse,

    /// <summary>It is no data file at all.</summary>
    NotADataFile,

    /// <summary>It is a database of another program.</summary>
    OtherProgram,

    /// <summary>A newer version of this program wrote it.</summary>
    Newer,

    /// <summary>It, or its folder, cannot be opened or made.</summary>
    CannotOpen,

    /// <summary>Its inside is damaged.</summary>
    Damaged,

    /// <summary>Its disk cannot make writes safe.</summary>
    NotSafe,

    /// <summary>The key that its heads are signed with is not there, or is another.</summary>
    KeyMissing,

    /// <summary>The key's file cannot be read or made.</summary>
    KeyUnreadable,

    /// <summary>It holds events, and no heads signed with the key that is there.</summary>
    HeadsMissing,
}

/// <summary>A data file was not opened; the message says what is wrong and what to do.</summary>
public sealed class DataFileException : Exception
{
    internal DataFileException(DataFileProblem problem, string path, string sentence, string? detail = null,
        Exception? inner = null)
        : base(Sentence.Of(sentence, path, detail), inner)
    {
        Problem = problem;
        Path = path;
    }

    /// <summary>Why.</summary>
    public DataFileProblem Problem { get; }

    /// <summary>Full path of the file.</summary>
    public string Path { get; }
}
