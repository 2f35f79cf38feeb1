using System.Globalization;
using Incubation.Model;
using Incubation.Records.Batches;
using Incubation.Server.Doors;
using Incubation.Service.Text;
using Microsoft.AspNetCore.Components;

namespace Incubation.Server.Pages.Record;

/// <summary>A page on which something is decided of one result of a closed batch.</summary>
public abstract class ClosedResultPage : ComponentBase
{
    /// <summary>Who looks.</summary>
    [Inject] protected ICurrentActor Current { get; set; } = null!;

    [Inject] private CartridgeProjection Book { get; set; } = null!;

    [Inject] private NavigationManager Navigation { get; set; } = null!;

    /// <summary>Id of the bench.</summary>
    [Parameter] public string Bench { get; set; } = "";

    /// <summary>Number of the batch.</summary>
    [Parameter] public int Batch { get; set; }

    /// <summary>Id of the request. In a path ".." or "%2F" would not come back as they are.</summary>
    [SupplyParameterFromQuery] public string? Request { get; set; }

    /// <summary>The cartridge; null before it was found, and where there is none.</summary>
    public CartridgeRecord? Cartridge { get; private set; }

    /// <summary>What is wrong with what was filled in.</summary>
    protected IReadOnlyList<FormFault> Faults { get; set; } = [];

    /// <summary>The page of its batch.</summary>
    public string Record =>
        $"record/{Uri.EscapeDataString(Bench)}/{Batch.ToString(CultureInfo.InvariantCulture)}";

    /// <summary>The cartridge of which something is to be decided; null where there is none, or nothing is.</summary>
    protected abstract CartridgeRecord? Find();

    /// <summary>The sentence of what is wrong with a member, "" for the whole; null where nothing is.</summary>
    public string? Fault(string member) => Faults.FirstOrDefault(fault => fault.Member == member)?.Sentence;

    /// <inheritdoc/>
    protected override async Task OnInitializedAsync()
    {
        Cartridge = await Task.Run(Find);
        if (Cartridge is not null)
            return;
        // Decided meanwhile, by whoever it was: the record says what and by whom.
        if (await Task.Run(IsThere))
            Navigation.NavigateTo(Record);
        else
            Navigation.NotFound();
    }

    private bool IsThere() => TextId.IsValid(Bench) && Book.Batch(new BenchId(Bench), Batch) is { Closed: not null } one
        && one.Cartridges.Any(cartridge => cartridge.Request.Value == Request);

    /// <summary>Something was decided: where nothing is wrong with it, its batch is shown.</summary>
    protected void Done(IReadOnlyList<FormFault> found)
    {
        Faults = found;
        if (Faults.Count == 0)
            Navigation.NavigateTo(Record, forceLoad: true);
    }
}
