namespace Incubation.Service.Assays;

/// <summary>What the groups of a sheet's fields are called.</summary>
internal static class SheetGroupText
{
    public static string Of(SheetGroup group) => group switch
    {
        SheetGroup.What => AssayWords.GroupWhat,
        SheetGroup.Specimen => AssayWords.GroupSpecimen,
        SheetGroup.Materials => AssayWords.GroupMaterials,
        SheetGroup.Mix => AssayWords.GroupMix,
        SheetGroup.Load => AssayWords.GroupLoad,
        SheetGroup.Incubation => AssayWords.GroupIncubation,
        SheetGroup.Read => AssayWords.GroupRead,
        SheetGroup.Result => AssayWords.GroupResult,
        SheetGroup.Limits => AssayWords.GroupLimits,
        SheetGroup.Controls => AssayWords.GroupControls,
        _ => AssayWords.GroupSteps,
    };
}
