using Incubation.Clinic;
using Incubation.Clinic.Panels;
using Incubation.Clinic.People;
using Incubation.Model;
using Incubation.Service.Clinic;
using Incubation.Service.Clock;
using Incubation.Service.People;

namespace Incubation.Service.Panels;

/// <summary>Panels, as a supervisor keeps them: a name, and the assays that it stands for.</summary>
public sealed class PanelService(ClinicHost clinic, BenchClock clock)
{
    /// <summary>All of them, by name.</summary>
    public IReadOnlyList<Panel> All() => [.. clinic.Log.Panels.All.Values];

    /// <summary>
    /// Those that can be wanted now: of their assays, the ones that may be run.
    /// </summary>
    public IReadOnlyList<Panel> Usable() => [.. All().Where(panel =>
        panel.Assays.All(assay => clinic.Catalogue.Assay(assay) is not null))];

    /// <summary>Names a panel, or says what an old name stands for from now on.</summary>
    /// <param name="actor">Who.</param>
    /// <param name="name">The name, as typed.</param>
    /// <param name="assays">Codes of the assays.</param>
    public Outcome Set(Actor? actor, string? name, IReadOnlyList<string> assays)
    {
        ArgumentNullException.ThrowIfNull(assays);
        return !Bounds.IsIdentifier(name?.Trim()) ? new Outcome(PanelWords.NameFault)
            : Record(actor, new ClinicEvent.PanelSet(new PanelName(Bounds.Normal(name!.Trim())),
                [.. assays.Where(TextId.IsValid).Select(code => new AssayCode(code))]));
    }

    /// <summary>Offers a panel no more.</summary>
    public Outcome Remove(Actor? actor, PanelName panel) => Record(actor, new ClinicEvent.PanelRemoved(panel));

    private Outcome Record(Actor? actor, ClinicEvent happened) => Access.May(actor, Right.Supervise)
        ? Outcome.Of(() => clinic.Log.Record(happened, Provenances.Of(actor!, clock)))
        : new Outcome(Words.NotAllowed);
}
