namespace Incubation.Bench;

/// <summary>A command on its way to a bench, with who says it, when and through what.</summary>
/// <param name="Command">What is said.</param>
/// <param name="Provenance">Who says it, when, through what, and whether that is certain.</param>
public sealed record CommandEnvelope(BenchCommand Command, Provenance Provenance);
