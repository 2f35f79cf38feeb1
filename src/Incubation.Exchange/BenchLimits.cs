namespace Incubation.Exchange;

/// <summary>The most that a file may hold: beyond it a number is a slip of the pen, not a bench.</summary>
public static class BenchLimits
{
    public const int Hands = 20;
    public const int Slots = 200;
    public const int Readers = 50;
    public const int Assays = 500;
    public const int CalendarEntries = 2000;
    public const int PlanSteps = 10_000;
    public const int NameLength = 200;

    /// <summary>The most that a second of waiting may cost, in seconds.</summary>
    public const double WaitWeight = 1000;
}
