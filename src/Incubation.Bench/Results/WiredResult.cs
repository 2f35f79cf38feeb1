using Incubation.Model;

namespace Incubation.Bench;

/// <summary>A test of a reader, and what it is here.</summary>
/// <param name="Name">As the reader calls it, upper and lower case alike.</param>
/// <param name="Assay">Of which assay sheet it is.</param>
/// <param name="Unit">The sheet's unit as the reader writes it; empty where it writes none.</param>
public sealed record ReaderTest(string Name, AssayCode Assay, string Unit);

/// <summary>A result that a reader has sent by wire.</summary>
/// <param name="Specimen">The specimen that it names, or null.</param>
/// <param name="Test">The test, as the reader calls it.</param>
/// <param name="Shown">The value, or the reader's code where it gave none; null where it could be read in more than one
/// way.</param>
/// <param name="Unit">As the reader writes it; empty where it writes none.</param>
public sealed record WiredResult(string? Specimen, string Test, ShownResult? Shown, string Unit)
{
    /// <summary>Whether the reader says that it is a control's. One that does not say so may send a control's
    /// too.</summary>
    public bool IsControl { get; init; }

    /// <summary>Whether it names a specimen, and which cannot be read: it is not one without.</summary>
    public bool IsSpecimenUnreadable { get; init; }

    /// <summary>When it was measured by the reader's clock, set right (<see cref="ReaderClock"/>); null where that
    /// clock is not to be believed, or said nothing.</summary>
    public InstantRange? ReadAt { get; init; }

    /// <summary>What its message already says against it; null where nothing.</summary>
    public MatchQuestion? Objection { get; init; }
}

/// <summary>Why a person must say what becomes of a result that came by wire.</summary>
public enum MatchQuestion
{
    /// <summary>Its message was no message of results: training, a trial, broken off or cut.</summary>
    NotMeant,

    /// <summary>Something of it could not be understood.</summary>
    NotUnderstood,

    /// <summary>The reader doubts it, or will send another.</summary>
    NotFinal,

    /// <summary>It corrects one that was sent before: amending is a person's act.</summary>
    Correction,

    /// <summary>Its unit is not the one of the table.</summary>
    OtherUnit,

    /// <summary>It names no specimen, and none or several cartridges are in the reader.</summary>
    NoSpecimen,

    /// <summary>Nothing of the specimen that it names was in the reader.</summary>
    OtherSpecimen,

    /// <summary>What was in the reader is another assay's.</summary>
    OtherAssay,

    /// <summary>It says that it is a control's, and the cartridge is a patient's.</summary>
    OtherKind,

    /// <summary>It was measured while the cartridge was not in the reader, or not when it was read.</summary>
    OtherTime,

    /// <summary>Several cartridges of its specimen and assay are in the batch.</summary>
    SeveralCartridges,

    /// <summary>The cartridge has another result already.</summary>
    OtherValue,

    /// <summary>The cartridge is to be, or was, discarded.</summary>
    Discarded,

    /// <summary>The table of the reader's tests does not have its test.</summary>
    UnknownTest,

    /// <summary>The same came before and does not say when it was measured: it can be the same again, or another
    /// cartridge's.</summary>
    SentBefore,

    /// <summary>The bench did not take it.</summary>
    NotTaken,

    /// <summary>The reader remarks something that can speak against it.</summary>
    ReaderRemarks,

    /// <summary>Its message has several values for it.</summary>
    SeveralValues,
}

/// <summary>What becomes of a result that came by wire.</summary>
public abstract record ResultMatch
{
    private ResultMatch() { }

    /// <summary>It is entered, as this report says.</summary>
    public sealed record Enter(BenchCommand.ResultEntered Report) : ResultMatch;

    /// <summary>It is there already, and changes nothing.</summary>
    /// <param name="Request">Where.</param>
    /// <param name="Waits">Whether it waits there as an amendment.</param>
    public sealed record Same(RequestId Request, bool Waits) : ResultMatch;

    /// <summary>Another value stands: this one waits as an amendment, and holds it.</summary>
    public sealed record Propose(BenchCommand.ProposeAmendment Report) : ResultMatch;

    /// <summary>A person must say.</summary>
    /// <param name="Why">Why.</param>
    /// <param name="Request">The cartridge that it would be, where there is one; else null.</param>
    public sealed record Ask(MatchQuestion Why, RequestId? Request = null) : ResultMatch;

    /// <summary>The table of the reader's tests does not have its test.</summary>
    public sealed record UnknownTest(string Test) : ResultMatch;
}
