using Incubation.Records.Export;
using Incubation.TestKit;
using Xunit;

namespace Incubation.Records.Tests;

/// <summary>Amendments and tellings as comma-separated values.</summary>
public sealed class AmendmentCsvTest
{
    /// <summary>The room's README says of every column what it holds.</summary>
    [Fact]
    public void Names_EachStandsInTheReadmesSection()
    {
        var readme = CommittedFile.Read("src/Incubation.Records/README.md");
        var from = readme.IndexOf("## Amendments and tellings as CSV", StringComparison.Ordinal);
        var section = readme[from..readme.IndexOf("\n## ", from + 1, StringComparison.Ordinal)];
        Assert.All(AmendmentCsv.Names, name => Assert.Contains($"`{name}`", section, StringComparison.Ordinal));
        Assert.Equal(AmendmentCsv.Names.Count(), AmendmentCsv.Names.Distinct().Count());
    }
}
