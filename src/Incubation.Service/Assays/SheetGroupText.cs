namespace Incubation.Service.Assays;

/// <summary>What the groups of a sheet's fields are called.</summary>
internal static class SheetGroupText
{
    public static string Of(SheetGroup group) => group switch
    {
        SheetGroup.What => AssayWords.GroupWhat,
        SheetGroup.Times => AssayWords.GroupTimes,
        SheetGroup.Result => AssayWords.GroupResult,
        SheetGroup.Specimen => AssayWords.GroupSpecimen,
        SheetGroup.Warmth => AssayWords.GroupWarmth,
        SheetGroup.Materials => AssayWords.GroupMaterials,
        SheetGroup.Controls => AssayWords.GroupControls,
        _ => AssayWords.GroupTexts,
    };
}
