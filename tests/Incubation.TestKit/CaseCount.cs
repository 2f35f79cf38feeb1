namespace Incubation.TestKit;

/// <summary>
/// How many random cases a test goes through: enough to be of use at every run, and many where
/// <c>INCUBATION_CASES=long</c> stands in the environment.
/// </summary>
public static class CaseCount
{
    /// <summary>The variable of the environment that asks for long runs.</summary>
    public const string Variable = "INCUBATION_CASES";

    /// <summary>Whether this is a long run.</summary>
    public static bool IsLong { get; } = Environment.GetEnvironmentVariable(Variable) == "long";

    /// <summary>The number for this run.</summary>
    /// <param name="usual">At every run.</param>
    /// <param name="many">In a long run.</param>
    public static int Of(int usual, int many) => IsLong ? many : usual;
}
