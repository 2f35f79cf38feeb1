using Incubation.Model;

namespace Incubation.Server.Components.Batch;

/// <summary>A result as entered against the identity that the reader shows: a value, or the code that came instead of one.</summary>
public sealed record ResultEntry(RequestId Request, string Specimen, string? Value, string? NoValue);
