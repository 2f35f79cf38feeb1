using Incubation.Bench;
using Incubation.Model;
using NodaTime;

namespace Incubation.Service.Batches;

/// <summary>
/// A result as entered against the identity that the reader shows: a value, or the code that came instead of one.
/// </summary>
/// <param name="Request">Whose cartridge.</param>
/// <param name="Specimen">Its specimen.</param>
/// <param name="Shown">What the reader shows as the specimen's identity, or null for none.</param>
/// <param name="Value">The value.</param>
/// <param name="NoValue">The code that came instead of one.</param>
/// <param name="Matches">Whether the reader shows the specimen meant.</param>
public sealed record ResultEntry(RequestId Request, string Specimen, string? Shown, string? Value, string? NoValue,
    bool Matches);

/// <summary>What somebody changes of a request that is not over.</summary>
/// <param name="Of">The request's cartridge as it was when they began.</param>
/// <param name="Due">When its results should be there from now on.</param>
/// <param name="Comment">What is noted about it from now on.</param>
public sealed record RequestChange(Cartridge Of, Instant? Due, string? Comment);

/// <summary>Something that becomes of a result that was entered: released, amended, told.</summary>
/// <param name="Specimen">Whose specimen.</param>
/// <param name="Command">Makes the command of what was typed.</param>
public sealed record ResultChange(string Specimen, Func<BenchCommand> Command);
