using System.Collections.Immutable;
using System.Globalization;

namespace Incubation.Exchange.Lis;

/// <summary>Gathers the faults of one message, up to a limit.</summary>
internal sealed class LisFaults
{
    private const int MaxShown = 40;

    private readonly List<LisFault> _faults = [];

    public ImmutableArray<LisFault> All => [.. _faults];

    public void Add(int record, string type, int field, string sentence, params object[] things)
    {
        var fault = new LisFault(record, Shown(type[..Math.Min(type.Length, 3)]), field, Say(sentence, things));
        if (_faults.Count < FaultList.Maximum && !_faults.Contains(fault))
            _faults.Add(fault);
    }

    /// <summary>Fills a sentence in.</summary>
    public static string Say(string sentence, params object[] things) =>
        string.Format(CultureInfo.CurrentCulture, sentence, things);

    /// <summary>A piece of a text, as it can stand in a sentence.</summary>
    public static string Shown(string text) => Glance(text, MaxShown);

    /// <summary>So many characters of a text, as they can stand in a sentence.</summary>
    public static string Glance(string text, int most)
    {
        var plain = string.Concat(text.Take(most)
            .Select(one => char.IsControl(one) || char.IsSurrogate(one) ? '?' : one));
        return text.Length > most ? plain + "…" : plain;
    }
}
