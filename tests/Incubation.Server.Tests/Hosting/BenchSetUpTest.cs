using Incubation.Clinic;
using Incubation.Clinic.People;
using Incubation.Model;
using Incubation.Service.Benches;
using Incubation.Service.Clinic;
using Incubation.Service.Clock;
using Incubation.Service.People;
using Incubation.Service.Tests.Support;
using Microsoft.Extensions.DependencyInjection;

namespace Incubation.Server.Tests.Hosting;

/// <summary>Benches that a supervisor sets up.</summary>
public sealed class BenchSetUpTest : IAsyncDisposable
{
    private readonly ServerFactory server = new();

    private static CancellationToken Cancel => TestContext.Current.CancellationToken;

    private BenchSetUp Desk => server.Services.GetRequiredService<BenchSetUp>();

    private static Actor.Person As(Role role) => AnAide.Lena with { Who = AnAide.Lena.Who with { Role = role } };

    public ValueTask DisposeAsync() => server.DisposeAsync();

    [Fact]
    public async Task Add_Supervisor_RunsUnderTheNextFreeName()
    {
        var (faults, bench) = await Desk.AddAsync(As(Role.Supervisor),
            new BenchForm { Name = " Bench by the window ", Slots = "6" }, Cancel);

        Assert.Empty(faults);
        Assert.Equal(new BenchId("bench-2"), bench);
        var state = server.Services.GetRequiredService<BenchRegistry>().Find("bench-2")!.Present.State;
        Assert.Equal(("Bench by the window", 6, 1), (state.Name, state.Setup.Slots, state.Setup.Readers));
    }

    [Fact]
    public async Task Add_ServerDiedAfterRegistering_TheSameBenchIsCompleted()
    {
        var clinic = server.Services.GetRequiredService<ClinicHost>();
        clinic.Log.Record(
            new ClinicEvent.BenchRegistered(new BenchId("bench-2"), "Bench 2"),
                Provenances.Of(As(Role.Supervisor), server.Services.GetRequiredService<BenchClock>()));

        var (faults, bench) = await Desk.AddAsync(As(Role.Supervisor), new BenchForm { Name = "Bench 2" }, Cancel);

        Assert.Empty(faults);
        Assert.Equal(new BenchId("bench-2"), bench);
    }

    [Theory]
    [InlineData("", "8", nameof(BenchForm.Name))]
    [InlineData("B", "-1", nameof(BenchForm.Slots))]
    [InlineData("B", "eight", nameof(BenchForm.Slots))]
    [InlineData("B", "201", nameof(BenchForm.Slots))]
    public async Task Add_OneFault_SaidBesideItsField(string name, string slots, string member)
    {
        var (faults, bench) = await Desk.AddAsync(As(Role.Supervisor), new BenchForm { Name = name, Slots = slots },
            Cancel);

        Assert.Equal(member, Assert.Single(faults).Member);
        Assert.Null(bench);
    }

    [Fact]
    public async Task Add_Aide_Refused()
    {
        var (faults, bench) = await Desk.AddAsync(As(Role.Aide), new BenchForm { Name = "B" }, Cancel);

        Assert.Single(faults);
        Assert.Null(bench);
    }
}
