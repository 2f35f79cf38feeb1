using Incubation.Clinic.Stock;
using Incubation.Records;
using Incubation.Records.Clinic;
using NodaTime;

namespace Incubation.Service.Clinic;

/// <summary>The clinic as this server's pages and benches use it.</summary>
public sealed class ClinicHost
{
    private static readonly ClinicFacts NotOpen = new("", DateTimeZone.Utc);
    private volatile ClinicFacts? facts;
    private volatile LotCodes? lots;

    /// <summary>Replays the clinic's stream.</summary>
    /// <param name="file">The data file.</param>
    public ClinicHost(DataFile file)
    {
        Log = ClinicLog.Open(file);
        Catalogue = new Catalogue(file, Log);
    }

    /// <summary>The one writer of the clinic's stream.</summary>
    public ClinicLog Log { get; }

    /// <summary>What the clinic has.</summary>
    public Catalogue Catalogue { get; }

    /// <summary>The clinic's name and zone; no name and UTC while it has not been opened.</summary>
    public ClinicFacts Facts => facts ??= Catalogue.Clinic() ?? NotOpen;

    /// <summary>Codes of the clinic's kit lots: what a typed or scanned card may be.</summary>
    public IReadOnlyList<string> Lots
    {
        get
        {
            var stock = Log.Stock;
            if (lots is not { } known || !ReferenceEquals(known.Of, stock))
                lots = known =
                    new LotCodes(stock,
                        [.. stock.Items.Keys.Where(key => key.Kind == StockKind.Kit).Select(key => key.Lot.Value)
                            .Order(StringComparer.Ordinal)]);
            return known.Codes;
        }
    }

    private sealed record LotCodes(StockState Of, IReadOnlyList<string> Codes);

    /// <summary>The day in the clinic at an instant.</summary>
    public LocalDate Today(Instant now) => now.InZone(Facts.Zone).Date;

    /// <summary>Reads the facts anew after the clinic has been opened.</summary>
    public void Reread() => facts = null;
}
