using Incubation.Bench;

namespace Incubation.Records.Log;

internal static class Provenances
{
    /// <summary>Who said it, when, through what, as the header keeps it.</summary>
    public static Provenance Of(LogHeader header) =>
        new(header.Report, header.Reported, header.Arrived, header.Person, header.Device);
}
