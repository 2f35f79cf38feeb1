using Bunit;
using Incubation.Clinic.Connections;
using Incubation.Clinic.People;
using Incubation.Server.Hosting;
using Incubation.Server.Pages.Connections;
using Incubation.Service.Clinic;
using Incubation.Service.Clock;
using Incubation.Service.Connections;
using Incubation.Service.Decisions;
using Incubation.Service.Record;
using Incubation.Service.Tests.Support;
using Microsoft.Extensions.DependencyInjection;
using Microsoft.Extensions.Diagnostics.HealthChecks;
using Microsoft.Extensions.Time.Testing;
using NodaTime;

namespace Incubation.Server.Tests.Pages;

/// <summary>A destination's certificate that ends soon: on its page, in health and in the list.</summary>
public sealed class CertificateOutTest : DemoPages
{
    private readonly Actor mara = ControlsHouse.Person("mara", Role.Administrator);

    public CertificateOutTest()
    {
        JSInterop.Mode = JSRuntimeMode.Loose;
        Share<BenchClock>();
        Share<AccessLog>();
        Share<OutboxSender>();
        Front.Who = mara;
    }

    [Theory]
    [InlineData(20, "Ends on", HealthStatus.Healthy, "")]
    [InlineData(10.5, "have it renewed there", HealthStatus.Degraded, "to-1 ends in 10 days.")]
    [InlineData(-1, "Ended on", HealthStatus.Degraded, "to-1 has ended.")]
    public async Task Certificate_OfADestination_IsShown_AndSoonEndsAreToldEverywhere(double days, string shown,
        HealthStatus health, string sentence)
    {
        var clinic = Share<ClinicHost>();
        var certificates = Share<CertificateEnds>();
        Assert.Empty(Share<ConnectionService>().Set(mara, null, new ConnectionForm
        {
            Name = "Records",
            Address = "https://records.example/in",
            Topics = [NoticeTopic.Results],
        }).Faults);
        var now = Server.Services.GetRequiredService<BenchClock>().Now;
        using var certificate = MadeCertificate.Until(now + Duration.FromDays(days));
        certificates.Note(clinic.Log.Connections.InUse.Single(), certificate);
        Begin();
        Assert.Contains(shown, Render<ConnectionsPage>().Find(".line-certificate").TextContent,
            StringComparison.Ordinal);

        var check = new ConnectionsCheck(clinic, Server.Services.GetRequiredService<OutboxSender>(), certificates,
            new FakeTimeProvider(now.ToDateTimeOffset()));
        var result = await check.CheckHealthAsync(new HealthCheckContext(),
            Xunit.TestContext.Current.CancellationToken);
        Assert.Equal(health, result.Status);
        Assert.EndsWith(sentence, result.Description ?? "", StringComparison.Ordinal);

        var lines = Server.Services.GetRequiredService<DecisionList>().For(mara)
            .Where(line => line.Kind == DecisionKind.CertificateEnding).ToList();
        Assert.Equal(sentence.Length > 0 ? 1 : 0, lines.Count);
        Assert.All(lines, line => Assert.Equal(("connections", "Have the other system renew its certificate"),
            (line.Address, DecisionText.Of(line.Kind))));
        Assert.All(lines, line => Assert.StartsWith("Records: ", line.What, StringComparison.Ordinal));
    }
}
