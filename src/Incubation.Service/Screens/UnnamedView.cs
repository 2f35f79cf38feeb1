using Incubation.Bench;
using Incubation.Model;
using Incubation.Service.Snapshots;

namespace Incubation.Service.Screens;

/// <summary>
/// A bench as strangers may see it from across the room: every specimen goes by the name of its assay, so that no word
/// and no picture made from it can name a patient's sample.
/// </summary>
public static class UnnamedView
{
    /// <summary>The same view without specimens.</summary>
    public static BenchMoment Of(BenchMoment view)
    {
        ArgumentNullException.ThrowIfNull(view);
        var state = view.State with
        {
            Run = view.State.Run with
            {
                Cartridges = [.. view.State.Cartridges.Select(WithoutName)],
                Undo = null,
                Rejected = [],
            },
        };
        return new BenchMoment(state, view.View with
        {
            Slots = [.. view.View.Slots.Select(slot => slot with { Cartridge = InView(slot.Cartridge) })],
            Readers = [.. view.View.Readers.Select(reader => reader with { Cartridge = InView(reader.Cartridge) })],
        });

        Cartridge? InView(Cartridge? cartridge) => cartridge is null ? null : WithoutName(cartridge);
    }

    private static Cartridge WithoutName(Cartridge cartridge)
    {
        var wanted = cartridge.Wanted;
        return cartridge with
        {
            Wanted = wanted with
            {
                Request = wanted.Request with { Specimen = NameOf(wanted.Assay) },
                Facts = wanted.Facts is { } facts ? facts with { Identifier = null } : null
            }
        };
    }

    /// <summary>An assay's name is any text; what cannot stand as an identifier gives way to its code.</summary>
    private static SpecimenId NameOf(Assay assay) => new(TextId.IsValid(assay.Name) ? assay.Name : assay.Code.Value);
}
