using System.Net;
using Incubation.Bench;
using Incubation.Clinic;
using Incubation.Model;
using Incubation.Planning;
using Incubation.Records;
using Incubation.Records.Batches;
using Incubation.Records.Benches;
using Incubation.Records.Reports;
using Incubation.Service.Clinic;
using Incubation.Service.Clock;
using Incubation.Service.StepTimes;
using Incubation.Simulation;
using Microsoft.Extensions.DependencyInjection;
using NodaTime;

namespace Incubation.Server.Tests;

/// <summary>
/// The page of step times on the whole server, with the demo's clinic and a second bench that has worked.
/// </summary>
public sealed class StepTimesTest(StepTimesTest.House house) : IClassFixture<StepTimesTest.House>
{
    /// <summary>One server for all; bench-2 has run one batch of twelve of the demo's assays, an hour ago.</summary>
    public sealed class House : IDisposable
    {
        public House()
        {
            var clinic = Server.Services.GetRequiredService<ClinicHost>();
            var start =
                Instant.FromUnixTimeSeconds(
                    Server.Services.GetRequiredService<BenchClock>().Now.ToUnixTimeSeconds()) - Duration.FromHours(2);
            var open = new BenchCommand.OpenBench(new BenchId("bench-2"), "Bench 2",
                new BenchSetup(1, 8, 1, Duration.FromSeconds(25), Duration.FromSeconds(15), 0),
                Duration.FromSeconds(20));
            clinic.Log.Record(new ClinicEvent.BenchRegistered(open.Bench, open.Name),
                new Provenance(new ReportId("bench-2"), start, start, new PersonId("ines"), new DeviceId("test")));
            var sheets = clinic.Catalogue.Assays().Select(known => known.Assay).ToList();
            IReadOnlyList<BenchRequest> requests = [.. Enumerable.Range(0, 12).Select(number => new BenchRequest(
                new Request(new RequestId($"S{number:00}"), new SpecimenId($"S-{number:00}"),
                    sheets[number % sheets.Count].Code, new LotCode("L-1"), start, RequestKind.Patient, true,
                    Priority.Routine, null, null, []),
                sheets[number % sheets.Count], 1, "mg/L"))];
            new BenchStreams(Server.Services.GetRequiredService<DataFile>()).Append(
                open.Bench, 0, SimulatedDay.Run(open, requests, start, 5, new RandomStepLengths(),
                    () => new IterationBudget(100)).Entries);
        }

        public ServerFactory Server { get; } = new();

        public void Dispose() => Server.Dispose();
    }

    private static CancellationToken Cancel => TestContext.Current.CancellationToken;

    [Fact]
    public async Task StepTimes_OfABenchThatHasWorked_ShowWhatIsRecordedAndLeadToADraft()
    {
        var page = await Page("/step-times?bench=bench-2");
        Assert.Contains("3 steps are recorded.", page, StringComparison.Ordinal);
        Assert.Contains("fewer than 72 steps give no", page, StringComparison.Ordinal);
        Assert.Contains("What a change would do", page, StringComparison.Ordinal);
        var view = house.Server.Services.GetRequiredService<StepTimeService>().Make(null, "bench-2", null);
        var address = view.Steps.Select(step => step.DraftAddress).First(one => one is not null)!;
        Assert.Contains("filled in from a bench", await Page("/" + address), StringComparison.Ordinal);
        // Every changed step of the batch is planned by itself, before all of them together.
        Assert.Equal(16, view.Overview.Rows.Count);
        Assert.InRange(view.Effects.Rows.Count, 3, 18);
    }

    [Theory]
    [InlineData("bench=bench-1", "Nothing was run on this bench in the last 180 days")]
    [InlineData("bench=nowhere", "There is no bench &#x27;nowhere&#x27;")]
    [InlineData("bench=bench-2&assay=%3Cscript%3E", "was not run on Bench 2")]
    public async Task StepTimes_WhateverStandsInTheAddress_SaySoInASentence(string query, string expected)
    {
        var page = await Page("/step-times?" + query);
        Assert.Contains("<h1>Step times</h1>", page, StringComparison.Ordinal);
        Assert.Contains(expected, page, StringComparison.Ordinal);
        Assert.DoesNotContain("<script>", page, StringComparison.Ordinal);
    }

    [Theory]
    [InlineData("Mix=0%3A46", true)]
    [InlineData("Mix=soon", false)]
    [InlineData("Incubation=0%3A01", false)]
    public async Task Draft_BegunWithLengths_HasThoseThatAreLengthsOfHands(string query, bool isPrefilled) =>
        Assert.Equal(isPrefilled, (await Page("/assays/DA/draft?" + query))
            .Contains("filled in from a bench", StringComparison.Ordinal));

    [Fact]
    public void FullBatch_PlannedWithLongerSteps_EndsLater()
    {
        var record = house.Server.Services.GetRequiredService<CartridgeProjection>();
        var use = FullBatch.Pick(house.Server.Services.GetRequiredService<ReportProjection>()
            .Batches(new ReportScope(Instant.FromUtc(2000, 1, 1, 0, 0), Instant.FromUtc(2200, 1, 1, 0, 0),
                new BenchId("bench-2"))))!;
        var full = FullBatch.Of(record.Batch(use.Bench, use.Batch)!, use.From, _ => null);
        var today = full.Plan();
        Assert.Equal((12, 0), (full.Day.Requests.Count, today.Unplaced));
        Assert.Equal(today.Finish, full.Plan().Finish);
        PlannedBatch With(Func<Assay, Assay> change) => full.Plan([.. full.Day.Assays.Select(change)], today.Plan);
        Assert.True(With(assay => assay with { Mix = assay.Mix * 2, MixShortest = assay.Mix }).Finish > today.Finish);
        Assert.True(
            With(assay =>
                assay with
                {
                    Load = assay.Load - Duration.FromSeconds(5),
                    LoadShortest = Duration.FromSeconds(5)
                }).Finish <= today.Finish + Duration.FromSeconds(5));
    }

    [Fact]
    public void FullBatch_OfNoBatch_IsNone() => Assert.Null(FullBatch.Pick([]));

    private async Task<string> Page(string address)
    {
        using var client = house.Server.ClientAs("ines");
        using var answer = await client.GetAsync(new Uri(address, UriKind.Relative), Cancel);
        Assert.Equal(HttpStatusCode.OK, answer.StatusCode);
        return await answer.Content.ReadAsStringAsync(Cancel);
    }
}
