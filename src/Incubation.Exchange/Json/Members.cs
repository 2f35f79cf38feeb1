namespace Incubation.Exchange.Json;

/// <summary>Reads a value from an item, or adds the fault that says why not and returns null.</summary>
internal delegate T? ReadValue<T>(JsonItem item, FaultList faults)
    where T : struct;

/// <summary>The members of one object: each is asked for by name, and what nobody may name is a fault.</summary>
internal sealed class Members
{
    private readonly FaultList _faults;

    private Members(JsonItem.Object source, FaultList faults) => (Source, _faults) = (source, faults);

    /// <summary>The object itself, for faults about the whole of it.</summary>
    public JsonItem.Object Source { get; }

    /// <summary>The members of an item that must be an object; null with a fault where it is none.</summary>
    public static Members? Of(JsonItem item, FaultList faults)
    {
        if (item is JsonItem.Object source)
            return new Members(source, faults);
        faults.Add(item, FaultList.Text(Words.IsKind, item.KindInWords), Words.KindObject);
        return null;
    }

    /// <summary>The items of an item that must be an array; none, with a fault, where it is none or too long.</summary>
    public static IReadOnlyList<JsonItem> ItemsOf(JsonItem item, int maximum, FaultList faults)
    {
        if (item is not JsonItem.Array array)
        {
            faults.Add(item, FaultList.Text(Words.IsKind, item.KindInWords), Words.KindArray);
            return [];
        }
        if (array.Items.Count <= maximum)
            return array.Items;
        faults.Add(item, FaultList.Text(Words.TooMany, array.Items.Count),
            FaultList.Text(Words.AllowedAtMostItems, maximum));
        return [];
    }

    /// <summary>Makes a fault of each member whose name is not among these.</summary>
    public Members Only(params string[] allowed)
    {
        foreach (var (name, item) in Source.Members)
        {
            if (!allowed.Contains(name))
                _faults.Add(item, Words.UnknownMember,
                    FaultList.Text(Words.AllowedMembers, string.Join(", ", allowed)));
        }
        return this;
    }

    public bool Has(string name) => Source.Find(name) is not null;

    /// <summary>The place of a member, or of the whole object where it is absent.</summary>
    public JsonItem At(string name) => Source.Find(name) ?? Source;

    /// <summary>The item of a member that must be there; null with a fault where it is not.</summary>
    public JsonItem? RequiredItem(string name)
    {
        if (Source.Find(name) is { } item)
            return item;
        _faults.Add(Source, FaultList.Text(Words.MemberMissing, name), FaultList.Text(Words.AllowedRequired, name));
        return null;
    }

    public T? Required<T>(string name, ReadValue<T> read)
        where T : struct =>
        RequiredItem(name) is { } item ? read(item, _faults) : null;

    public T? Optional<T>(string name, ReadValue<T> read)
        where T : struct =>
        Source.Find(name) is { } item ? read(item, _faults) : null;

    /// <summary>
    /// A text of 1 to so many printable characters that must be there; null with a fault where it is not.
    /// </summary>
    public string? RequiredText(string name, int maximumLength) =>
        RequiredItem(name) is { } item ? Values.Printable(item, maximumLength, _faults) : null;

    public string? OptionalText(string name, int maximumLength) =>
        Source.Find(name) is { } item ? Values.Printable(item, maximumLength, _faults) : null;

    /// <summary>The items of an array that must be there.</summary>
    public IReadOnlyList<JsonItem> RequiredItems(string name, int maximum) =>
        RequiredItem(name) is { } item ? ItemsOf(item, maximum, _faults) : [];

    /// <summary>The items of an array that may be absent.</summary>
    public IReadOnlyList<JsonItem> OptionalItems(string name, int maximum) =>
        Source.Find(name) is { } item ? ItemsOf(item, maximum, _faults) : [];
}
