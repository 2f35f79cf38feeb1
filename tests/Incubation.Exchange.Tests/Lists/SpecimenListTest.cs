using Incubation.Exchange.Lists;
using Xunit;

namespace Incubation.Exchange.Tests.Lists;

/// <summary>Lists of specimens as people paste and export them: RFC 4180, and what spreadsheets make of it.</summary>
public sealed class SpecimenListTest
{
    [Theory]
    // RFC 4180, section 2: rules 1 and 2 (ends of lines), 5 to 7 (quotes), with other separators and a mark before.
    [InlineData("specimen,assay\r\nT-1,DA\r\nT-2,DB\r\n", "T-1 DA, T-2 DB")]
    [InlineData("specimen,assay\nT-1,DA\nT-2,DB", "T-1 DA, T-2 DB")]
    [InlineData("\uFEFFspecimen;assay\r\nT-1;DA\r\n", "T-1 DA")]
    [InlineData("assay\tspecimen\r\nDA + DC\tT-1\r\n\r\n\tT-2\r\n", "T-1 DA+DC, T-2 ")]
    [InlineData("Specimen,Assay\n\"T,1\",\"DA\"", "T,1 DA")]
    [InlineData("specimen,identifier\n\"T\"\"1\",\"a\"", "T\"1 ")]
    [InlineData("specimen,assay,priority\nT-1,DA,urgent\nT-2,DA,Routine", "T-1 DA!, T-2 DA")]
    [InlineData("T-1\nT-2\n\n T-3 \n", "T-1 , T-2 , T-3 ")]
    [InlineData("=HYPERLINK(1)", "=HYPERLINK(1) ")]
    public void Read_Lists_AsTheyCome(string text, string expected)
    {
        var list = SpecimenList.Read(text);
        Assert.Empty(list.Faults);
        Assert.Equal(expected, string.Join(", ", list.Specimens.Select(one =>
            $"{one.Specimen.Text} {string.Join('+', one.Assays.Select(assay => assay.Text))}"
            + (one.IsUrgent ? "!" : ""))));
    }

    [Fact]
    public void Read_ColumnsWithoutNames_AreSaidOnce()
    {
        var fault = Assert.Single(SpecimenList.Read("T-1\tDA\nT-2\tDB\nT-3\tDB").Faults);
        Assert.Equal((1, 2, null), (fault.Line, fault.Column, fault.Heading));
    }

    [Theory]
    [InlineData("specimen,assay,specimen\nT-1,DA,T-2", 1, 3, null, "there twice")]
    [InlineData("specimen,colour\nT-1,red", 1, 2, null, "“colour” is not a column")]
    [InlineData("assay\nDA", 1, 1, null, "“specimen” is missing")]
    [InlineData("specimen,assay\nT-1,DA,DB", 2, 3, null, "more than 2 fields")]
    [InlineData("specimen,assay\n,DA", 2, 1, "specimen", "no specimen number")]
    [InlineData("assay,specimen\nDA", 2, 2, "specimen", "no specimen number")]
    [InlineData("specimen,Assay\nT-1,\"DA", 2, 2, "Assay", "never closed")]
    [InlineData("specimen,assay\nT-\"1,DA", 2, 1, "specimen", "inside a field")]
    [InlineData("specimen,assay\n\"T-1\"x,DA", 2, 1, "specimen", "follows the closing quote")]
    [InlineData("specimen,identifier\nT-1,\"a\r\nb\"\r\n1.2E+15,c", 2, 2, "identifier", "cannot be printed")]
    [InlineData("specimen,priority\nT-1,\"urgent\"\nT-2,soon", 3, 2, "priority", "“soon” is not a priority")]
    [InlineData("T-1\n1.2E+15", 2, 1, null, "rounded")]
    [InlineData("T-1\n1,2E+15", 2, 2, null, "first line does not name them")]
    [InlineData("T-1;DA\nT-2;DB", 1, 2, null, "first line does not name them")]
    [InlineData("", 1, 1, null, "empty")]
    [InlineData("specimen,assay\r\n", 2, 1, null, "empty")]
    public void Read_Faults_AreNamedByLineAndColumn(string text, int line, int column, string? heading, string sentence)
    {
        var fault = SpecimenList.Read(text).Faults[0];
        Assert.Equal((line, column, heading), (fault.Line, fault.Column, fault.Heading));
        Assert.Contains(sentence, fault.Sentence, StringComparison.Ordinal);
    }

    /// <summary>Each kind of fault is looked for by itself; what a person corrects goes from top to bottom.</summary>
    [Fact]
    public void Read_SeveralFaults_StandInTheListsOrder() =>
        Assert.Equal(["2 1", "2 2", "2 3", "3 1", "3 2"], SpecimenList.Read(
            "specimen,priority,identifier\n1E+15,soon,1E+15\n1E+15,soon,x").Faults
            .Select(fault => $"{fault.Line} {fault.Column}"));

    [Fact]
    public void Read_QuotedNewlines_CountAsLines()
    {
        var list = SpecimenList.Read("specimen,due\r\nT-1,\"1\r\n2\n3\"\r\nT-2,9:00\r\n");
        Assert.Equal([2, 5], list.Specimens.Select(one => one.Line));
    }

    [Fact]
    public void Read_ManyLinesAndFaults_IsBounded()
    {
        // The first line too many, where it stands: below the columns' names there is one more.
        foreach (var (heading, line) in new[] { ("", 501), ("specimen\n", 502) })
        {
            var fault = SpecimenList.Read(heading + string.Join('\n', Enumerable.Range(0, 10_000))).Faults.Single();
            Assert.Contains("more than 500 lines", fault.Sentence, StringComparison.Ordinal);
            Assert.Equal(line, fault.Line);
        }

        Assert.Equal(SpecimenList.MaxFaults,
            SpecimenList.Read(string.Join('\n', Enumerable.Repeat("1E+15", 400))).Faults.Count);
        Assert.Contains("at most 64 characters; this has 300",
            SpecimenList.Read(new string('x', 300)).Faults.Single().Sentence, StringComparison.Ordinal);
    }
}
