using System.Security.Cryptography;
using System.Text;
using Incubation.Model;

namespace Incubation.Service.Rack;

/// <summary>The part of a list that is for one bench.</summary>
/// <param name="Bench">Id of the bench.</param>
/// <param name="Report">Names the part: the same list for the same bench is the same part.</param>
/// <param name="Lines">Its tubes.</param>
public sealed record RackPart(string Bench, ReportId Report, IReadOnlyList<RackLine> Lines)
{
    /// <summary>So many letters and digits of a hash name a list.</summary>
    private const int NameLength = 40;

    /// <summary>The parts of a list, in the order in which their first tubes stand on it.</summary>
    /// <param name="bench">The bench of the lines that name none.</param>
    /// <param name="lines">The tubes.</param>
    /// <param name="list">Names the list.</param>
    public static IReadOnlyList<RackPart> Of(string bench, IReadOnlyList<RackLine> lines, ReportId list) =>
        [.. lines.GroupBy(line => line.Bench ?? bench)
            .Select(part => new RackPart(part.Key, NameOf(list, part.Key), [.. part]))];

    /// <summary>The name of the part of a list that is for a bench.</summary>
    public static ReportId NameOf(ReportId list, string bench) => new("part-" + Hash($"{list}\n{bench}"));

    /// <summary>A name of a content.</summary>
    internal static string Hash(string content) =>
        Convert.ToHexStringLower(SHA256.HashData(Encoding.UTF8.GetBytes(content)))[..NameLength];
}
