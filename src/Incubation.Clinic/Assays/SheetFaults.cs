using Incubation.Model;
using NodaTime;

namespace Incubation.Clinic.Assays;

/// <summary>
/// What no sheet may say, whoever wrote it: the last look before it stands in the log. Forms and files say more, and
/// where.
/// </summary>
internal static class SheetFaults
{
    /// <summary>What speaks against a sheet, or null.</summary>
    public static ClinicObjection? Against(AssaySheet sheet)
    {
        var assay = sheet.Assay;
        var code = assay.Code.Value;
        if (string.IsNullOrWhiteSpace(assay.Name) || string.IsNullOrWhiteSpace(sheet.Unit))
            return new(ClinicRefusal.NameMissing, code);
        Duration?[] lengths = [
            assay.Mix, assay.MixToLoad, assay.Load, assay.Incubation, assay.ReadWindow, assay.Move, assay.Read,
                assay.Clear,
            assay.MixShortest, assay.LoadShortest,
            sheet.Specimens.LongestAge, sheet.Specimens.Stand, sheet.Materials.Stand, sheet.Materials.OpenPouch,
                sheet.Warmth?.DiscardBeyond];
        if (lengths.Min() < Duration.Zero || assay.MixShortest > assay.Mix || assay.LoadShortest > assay.Load)
            return new(ClinicRefusal.LengthsImpossible, code);
        ValueRange[] ranges = [sheet.Results.Measuring, sheet.Results.Reference, sheet.Results.Critical];
        var impossible = ranges.Any(range => range.From > range.To)
            || sheet.Results.Decimals is < 0 or > 6 || sheet.Controls.Levels is < 0 or > 3
            || sheet.Specimens.Volume <= 0 || sheet.Specimens.LoadVolume <= 0 || sheet.Warmth?.Tolerance.Degrees < 0;
        return impossible ? new(ClinicRefusal.SheetImpossible, code) : null;
    }
}
