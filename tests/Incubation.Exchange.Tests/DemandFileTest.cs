using Incubation.Model;
using NodaTime;
using Xunit;

namespace Incubation.Exchange.Tests;

/// <summary>Demand files: what is wanted of a bench on a usual day.</summary>
public sealed class DemandFileTest
{
    private static readonly AssayCode[] Assays = [new("A"), new("B")];

    [Fact]
    public void Parse_WholeFile_GivesWhatItSays()
    {
        var read = DemandFile.Parse("""
            { "note": "usual", "open": "08:00", "close": "24:00", "urgentShare": 0.1, "requests": [
                { "assay": "A", "from": "08:30", "to": "10:00", "perHour": 4 },
                { "assay": "B", "perHour": 0.5 }, { "assay": "A", "perHour": 0 } ] }
            """, Assays);

        Assert.Empty(read.Faults);
        var demand = read.Value!;
        Assert.Equal((Duration.FromHours(8), Duration.FromHours(24), 0.1),
            (demand.Open, demand.Close, demand.UrgentShare));
        Assert.Equal(
            [new DemandRate(Assays[0], Duration.FromHours(8.5), Duration.FromHours(10), 4),
                new DemandRate(Assays[1], Duration.FromHours(8), Duration.FromHours(24), 0.5)],
            demand.Rates);
        Assert.Equal(6 + 8, demand.PerDay, 9);
    }

    [Theory]
    [InlineData("""{ "open": "08:00", "close": "07:00", "requests": [] }""", "$.close")]
    [InlineData("""{ "open": "8 o'clock", "close": "17:00", "requests": [] }""", "$.open")]
    [InlineData("""{ "open": "08:00", "close": "17:00", "urgentShare": 1.5, "requests": [] }""", "$.urgentShare")]
    [InlineData("""{ "open": "08:00", "close": "17:00", "requests": [ { "assay": "C", "perHour": 1 } ] }""",
        "$.requests[0].assay")]
    [InlineData("""{ "open": "08:00", "close": "17:00", "requests": [ { "assay": "A", "perHour": -1 } ] }""",
        "$.requests[0].perHour")]
    [InlineData("""{ "open": "08:00", "close": "17:00", "requests": [ """
        + """{ "assay": "A", "from": "07:00", "perHour": 1 } ] }""", "$.requests[0].from")]
    [InlineData("""{ "open": "08:00", "close": "17:00", "requests": [ """
        + """{ "assay": "A", "to": "17:30", "perHour": 1 } ] }""", "$.requests[0].to")]
    [InlineData("""{ "open": "08:00", "close": "17:00", "requests": [ """
        + """{ "assay": "A", "from": "12:00", "to": "12:00", "perHour": 1 } ] }""", "$.requests[0].to")]
    [InlineData("""{ "open": "08:00", "close": "17:00" }""", "$")]
    [InlineData("""{ "open": "08:00", "close": "17:00", "requests": [], "patients": 3 }""", "$.patients")]
    public void Parse_Fault_NamesItsPlace(string json, string place)
    {
        var read = DemandFile.Parse(json, Assays);

        Assert.Null(read.Value);
        Assert.Equal(place, Assert.Single(read.Faults).Path);
    }
}
