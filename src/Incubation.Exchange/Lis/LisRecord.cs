using System.Collections.Immutable;

namespace Incubation.Exchange.Lis;

/// <summary>A field of a record, as it stands there.</summary>
/// <param name="Raw">With its delimiters and escape sequences.</param>
/// <param name="Delimiters">Those of its message.</param>
public readonly record struct LisField(string Raw, Delimiters Delimiters)
{
    /// <summary>Whether nothing stands in it.</summary>
    public bool IsEmpty => string.IsNullOrEmpty(Raw);

    /// <summary>What it means, delimiters included.</summary>
    public string Text => IsEmpty ? "" : LisText.Unescape(Raw, Delimiters);

    /// <summary>Its values, of which it may have several.</summary>
    public IEnumerable<LisField> Repeats
    {
        get
        {
            var delimiters = Delimiters;
            return IsEmpty ? [] : Raw.Split(delimiters.Repeat).Select(value => new LisField(value, delimiters));
        }
    }

    /// <summary>A component of its first value, from 1; empty where there is none.</summary>
    public string Component(int number)
    {
        if (IsEmpty)
            return "";
        var rest = Raw.AsSpan();
        var end = rest.IndexOf(Delimiters.Repeat);
        rest = end < 0 ? rest : rest[..end];
        for (var at = 1; at < number; at++)
        {
            var next = rest.IndexOf(Delimiters.Component);
            if (next < 0)
                return "";
            rest = rest[(next + 1)..];
        }

        end = rest.IndexOf(Delimiters.Component);
        return LisText.Unescape(end < 0 ? rest : rest[..end], Delimiters);
    }

    /// <summary>Whether its first component is all that it says.</summary>
    public bool HasOneValue
    {
        get
        {
            if (IsEmpty)
                return false;
            var end = Raw.AsSpan().IndexOfAny(Delimiters.Repeat, Delimiters.Component);
            return end < 0 || Raw.AsSpan(end).Trim([Delimiters.Repeat, Delimiters.Component]).IsEmpty;
        }
    }

    /// <summary>A field with one value of these components.</summary>
    public static LisField Of(Delimiters delimiters, params ReadOnlySpan<string?> components)
    {
        ArgumentNullException.ThrowIfNull(delimiters);
        var raw = new List<string>(components.Length);
        foreach (var component in components)
            raw.Add(LisText.Escape(component ?? "", delimiters));
        return new LisField(string.Join(delimiters.Component, raw), delimiters);
    }
}

/// <summary>A record of a message; of which type it may be of none that is known.</summary>
/// <param name="Number">Which of the message's, from 1.</param>
/// <param name="Type">H, P, O, R, C, Q, L, M, S, or whatever stands in its first field, in upper case.</param>
/// <param name="Fields">Its fields, the type first; what the header names as delimiters is its second field.</param>
public sealed record LisRecord(int Number, string Type, ImmutableArray<LisField> Fields)
{
    /// <summary>Whether something of it could not be read.</summary>
    public bool IsDamaged { get; init; }

    /// <summary>A field, from 1, which is the type, as the standard counts; empty where there is none.</summary>
    public LisField this[int number] => number >= 1 && number <= Fields.Length ? Fields[number - 1] : default;

    /// <summary>A record of these fields, without its type.</summary>
    public static LisRecord Of(Delimiters delimiters, int number, string type, params ReadOnlySpan<LisField> fields) =>
        new(number, type, [new LisField(type, delimiters), .. fields]);
}

/// <summary>A message.</summary>
/// <param name="Delimiters">The characters that divide it.</param>
/// <param name="Records">Its records, the header first.</param>
public sealed record LisMessage(Delimiters Delimiters, ImmutableArray<LisRecord> Records);

/// <summary>Something in a message that cannot be understood.</summary>
/// <param name="Record">In which record, from 1; 0 where it is no record's.</param>
/// <param name="Type">The record's type.</param>
/// <param name="Field">In which field, from 1; 0 where it is no field's.</param>
/// <param name="What">What is wrong, in a sentence.</param>
public sealed record LisFault(int Record, string Type, int Field, string What)
{
    /// <summary>Where it is, for people.</summary>
    public string Place => Record == 0 ? LisWords.OfMessage
        : Field == 0 ? LisFaults.Say(LisWords.OfRecord, Record, Type)
        : LisFaults.Say(LisWords.OfField, Record, Type, Field);
}

/// <summary>What reading a message gave.</summary>
/// <param name="Message">What was read; null where not even its header could be.</param>
/// <param name="IsWhole">Whether it has its last record (L).</param>
/// <param name="Faults">What could not be understood, at most <see cref="ParseResult{T}.MaximumFaults"/>.</param>
public sealed record LisReading(LisMessage? Message, bool IsWhole, ImmutableArray<LisFault> Faults);
