using Incubation.Clinic;
using Incubation.Clinic.People;
using Incubation.Clinic.Stock;
using Incubation.Model;
using Incubation.Service.Clinic;
using Incubation.Service.Clock;
using Incubation.Service.Decisions;
using Incubation.Service.People;
using Microsoft.Extensions.Configuration;
using Microsoft.Extensions.DependencyInjection;
using Microsoft.Extensions.Time.Testing;
using NodaTime;

namespace Incubation.Server.Tests.Doors;

/// <summary>What waits for a decision beyond its time is brought before the person who is named.</summary>
public sealed class EscalationTest : IAsyncDisposable
{
    private readonly FakeTimeProvider time = new(TimeProvider.System.GetUtcNow());
    private readonly List<ServerFactory> servers = [];

    private static CancellationToken Cancel => TestContext.Current.CancellationToken;

    public async ValueTask DisposeAsync()
    {
        foreach (var server in servers)
            await server.DisposeAsync();
    }

    [Theory]
    [InlineData(null, "mara", "ines")]
    [InlineData("ines", "ines", "mara")]
    [InlineData("lena", "mara", "lena")]
    [InlineData("gone", "mara", "ines")]
    public async Task Line_BeyondItsTime_StandsFirstForWhomItIsEscalatedTo(string? named, string to, string other)
    {
        var server = Begin(named);
        Assert.DoesNotContain("escalated", await Page(server, "/", to), StringComparison.Ordinal);

        time.Advance(TimeSpan.FromHours(6.1));

        var name = server.Services.GetRequiredService<ClinicHost>().Log.People.Person(new PersonId(to))!.Name;
        Assert.Contains("1 decision has waited for more than 6 h, escalated to you; the oldest since",
            await Page(server, "/", to), StringComparison.Ordinal);
        Assert.DoesNotContain("escalated", await Page(server, "/", other), StringComparison.Ordinal);
        foreach (var person in (string[])[to, other])
            Assert.Contains($"has waited for more than 6 h, escalated to {name}",
                await Page(server, "/decisions", person), StringComparison.Ordinal);
    }

    [Fact]
    public void InOrder_ForWhomItIsEscalatedTo_WhatIsLateComesFirst()
    {
        var server = Begin(null);
        var now = server.Services.GetRequiredService<BenchClock>().Now;
        DecisionLine Line(DecisionKind kind, int hours) =>
            new(kind, now - Duration.FromHours(hours), null, kind.ToString(), "lots", Right.Supervise);
        DecisionLine[] lines = [Line(DecisionKind.AmendmentToDecide, 1), Line(DecisionKind.TargetEnding, 90),
            Line(DecisionKind.HeldResult, 6), Line(DecisionKind.LateReport, 5)];
        var late = server.Services.GetRequiredService<DecisionEscalation>();

        Assert.Equal([lines[2], lines[0], lines[1], lines[3]], late.InOrder(ServerFactory.Administrator, lines));
        Assert.Same(lines, late.InOrder(null, lines));
    }

    [Theory]
    [InlineData("0", null)]
    [InlineData("721", null)]
    [InlineData("a day", null)]
    [InlineData(null, "two\u0007words")]
    public void Settings_OutOfTheirBounds_AreSaid(string? after, string? to)
    {
        var faults = new List<string>();
        EscalationSettings.Read(new ConfigurationBuilder().AddInMemoryCollection(new Dictionary<string, string?>
        {
            ["Incubation:EscalateAfter"] = after,
            ["Incubation:EscalateTo"] = to,
        }).Build(), faults);
        Assert.Single(faults);
    }

    /// <summary>A clinic that holds a new lot's results until the lot is compared.</summary>
    private ServerFactory Begin(string? named)
    {
        var server = new ServerFactory
        {
            Parts = parts =>
            {
                parts.AddSingleton(new BenchClock(time, 1));
                parts.AddSingleton(new EscalationSettings(Duration.FromHours(6), named));
            },
        };
        servers.Add(server);
        var clinic = server.Services.GetRequiredService<ClinicHost>();
        // Later than the lots with which the demo begins.
        time.Advance(TimeSpan.FromMinutes(1));
        var by = Provenances.Of(new PersonId("ines"), new DeviceId("test"), server.Services
            .GetRequiredService<BenchClock>());
        clinic.Log.Record([new ClinicEvent.LotComparisonRequired(true), new ClinicEvent.StockReceived(StockKind.Kit,
            new LotCode("DA-L9"), new AssayCode("DA"), new LocalDate(2099, 12, 31), 20, null, null)], by);
        return server;
    }

    private static async Task<string> Page(ServerFactory server, string address, string person)
    {
        using var client = server.ClientAs(person);
        return System.Net.WebUtility.HtmlDecode(
            await client.GetStringAsync(new Uri(address, UriKind.Relative), Cancel));
    }
}
