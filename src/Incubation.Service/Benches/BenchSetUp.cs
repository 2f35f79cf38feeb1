using System.Globalization;
using Incubation.Bench;
using Incubation.Clinic;
using Incubation.Clinic.People;
using Incubation.Exchange;
using Incubation.Model;
using Incubation.Records.Clinic;
using Incubation.Records.Log;
using Incubation.Service.Clinic;
using Incubation.Service.Clock;
using Incubation.Service.People;
using Incubation.Service.Text;
using NodaTime;

namespace Incubation.Service.Benches;

/// <summary>A new bench as it was filled in.</summary>
public sealed class BenchForm
{
    /// <summary>The name that people read.</summary>
    public string? Name { get; set; }

    /// <summary>Slots of its incubator.</summary>
    public string? Slots { get; set; } = "8";

    /// <summary>Its readers.</summary>
    public string? Readers { get; set; } = "1";

    /// <summary>Pairs of hands that usually work at it.</summary>
    public string? Hands { get; set; } = "1";

    /// <summary>Seconds that changing a reader's card takes.</summary>
    public string? CardChange { get; set; } = "25";

    /// <summary>The last seconds of each read window that a plan never uses.</summary>
    public string? ReadGuard { get; set; } = "15";

    /// <summary>Seconds by which a step is announced ahead.</summary>
    public string? PromptAhead { get; set; } = "20";
}

/// <summary>Sets benches up.</summary>
public sealed class BenchSetUp(ClinicHost clinic, BenchRegistry benches, BenchClock clock) : IDisposable
{
    private const int LongestSeconds = 600;
    private readonly SemaphoreSlim one = new(1, 1);

    /// <summary>Sets a bench up, and runs it.</summary>
    /// <returns>What is wrong; or the bench's id.</returns>
    public async Task<(IReadOnlyList<FormFault> Faults, BenchId? Bench)> AddAsync(Actor? actor, BenchForm form,
        CancellationToken cancellation)
    {
        if (!Access.May(actor, Right.Supervise) || actor!.Bench is not null)
            return ([new FormFault("", Words.NotAllowed)], null);
        var (faults, setup, promptAhead) = Read(form);
        if (faults.Count > 0)
            return (faults, null);
        await one.WaitAsync(cancellation);
        try
        {
            var id = Free();
            var provenance = Provenances.Of(actor, clock);
            // In this order: where the server dies between the two, the bench that is only registered is the next one
            // free.
            var registered = clinic.Catalogue.Benches().FirstOrDefault(known => known.Bench == id)?.Name;
            var name = registered ?? form.Name!.Trim();
            if (registered is null
                && clinic.Log.Record(new ClinicEvent.BenchRegistered(id, name),
                    provenance) is ClinicOutcome.Refused refused)
                return ([new FormFault("", ClinicText.Say(refused))], null);
            await benches.OpenAsync(new BenchCommand.OpenBench(id, name, setup, promptAhead), provenance, cancellation);
            return ([], id);
        }
        catch (AppendException fault)
        {
            return ([new FormFault("", fault.Message)], null);
        }
        finally
        {
            one.Release();
        }
    }

    private BenchId Free() => Enumerable.Range(1, int.MaxValue - 1)
        .Select(number => new BenchId(string.Create(CultureInfo.InvariantCulture, $"bench-{number}")))
        .First(id => benches.Find(id.Value) is null);

    /// <summary>Gives the lock back.</summary>
    public void Dispose() => one.Dispose();

    private static (List<FormFault> Faults, BenchSetup Setup, Duration PromptAhead) Read(BenchForm form)
    {
        var faults = new List<FormFault>();
        int Number(string member, string? text, int least, int most)
        {
            var number = TypedNumber.Whole(text, least, most, out var fault);
            if (fault is not null)
                faults.Add(new FormFault(member, fault));
            return number ?? least;
        }

        Duration Length(string member, string? text)
        {
            var length = TypedLength.Seconds(text, LongestSeconds, out var fault);
            if (fault is not null)
                faults.Add(new FormFault(member, fault));
            return length ?? Duration.Zero;
        }

        if (!Bounds.IsName(form.Name?.Trim()))
            faults.Add(new FormFault(nameof(BenchForm.Name), BenchesWords.BenchNameFault));
        var setup = new BenchSetup(
            Number(nameof(BenchForm.Hands), form.Hands, 1, BenchLimits.Hands),
            Number(nameof(BenchForm.Slots), form.Slots, 0, BenchLimits.Slots),
            Number(nameof(BenchForm.Readers), form.Readers, 1, BenchLimits.Readers),
            Length(nameof(BenchForm.CardChange), form.CardChange),
            Length(nameof(BenchForm.ReadGuard), form.ReadGuard),
            WaitWeight: 0);
        return (faults, setup, Length(nameof(BenchForm.PromptAhead), form.PromptAhead));
    }
}
