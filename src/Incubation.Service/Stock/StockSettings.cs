using System.Globalization;
using Incubation.Service.Settings;

namespace Incubation.Service.Stock;

/// <summary>When the stock warns, checked.</summary>
/// <param name="ExpiryWarningDays">A lot that expires within so many days is marked.</param>
public sealed record StockSettings(int ExpiryWarningDays)
{
    /// <summary>Days where nothing is set.</summary>
    public const int UsualDays = 30;

    private const int MaxDays = 365;

    /// <summary>Reads the settings; every fault is a sentence in <paramref name="faults"/>.</summary>
    public static StockSettings Read(IConfiguration configuration, ICollection<string> faults)
    {
        var text = configuration.GetSection(ServerSettings.Section)["ExpiryWarning"];
        if (string.IsNullOrWhiteSpace(text))
            return new StockSettings(UsualDays);
        if (int.TryParse(text, NumberStyles.None, CultureInfo.InvariantCulture, out var days) && days <= MaxDays)
            return new StockSettings(days);
        faults.Add(Text.Say.Of(StockWords.SettingFault, text, MaxDays));
        return new StockSettings(UsualDays);
    }
}
