namespace Incubation.Exchange;

/// <summary>Something in an input that cannot be understood, or that contradicts the rest.</summary>
/// <param name="Path">Where, as a JSON path from the root: <c>$.requests[3].assay</c>.</param>
/// <param name="Line">The line, from 1.</param>
/// <param name="What">What is wrong, in words.</param>
/// <param name="Allowed">What is allowed there, in words.</param>
public sealed record InputFault(string Path, int Line, string What, string Allowed);

/// <summary>What reading an input gave: the value, or what is wrong with it; never both, never neither.</summary>
/// <param name="Value">What was read; null where there is a fault.</param>
/// <param name="Faults">What is wrong, at most <see cref="MaximumFaults"/>; empty where there is a value.</param>
public sealed record ParseResult<T>(T? Value, IReadOnlyList<InputFault> Faults)
    where T : class
{
    /// <summary>No more faults than this are looked for in one input.</summary>
    public const int MaximumFaults = FaultList.Maximum;
}
