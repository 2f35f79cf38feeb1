namespace Incubation.Exchange.Json;

/// <summary>A JSON value that knows where it stands, so that a fault can say so.</summary>
/// <param name="Path">Its JSON path from the root.</param>
/// <param name="Line">The line on which it begins, from 1.</param>
internal abstract record JsonItem(string Path, int Line)
{
    public sealed record Object(string Path, int Line, IReadOnlyList<(string Name, JsonItem Item)> Members)
        : JsonItem(Path, Line)
    {
        /// <summary>The member of this name, or null.</summary>
        public JsonItem? Find(string name) => Members.FirstOrDefault(member => member.Name == name).Item;
    }

    public sealed record Array(string Path, int Line, IReadOnlyList<JsonItem> Items) : JsonItem(Path, Line);

    public sealed record Text(string Path, int Line, string Value) : JsonItem(Path, Line);

    /// <summary>A number as it was written.</summary>
    public sealed record Number(string Path, int Line, string Written) : JsonItem(Path, Line);

    public sealed record Truth(string Path, int Line, bool Value) : JsonItem(Path, Line);

    public sealed record Null(string Path, int Line) : JsonItem(Path, Line);

    /// <summary>What kind of value this is, in words.</summary>
    public string KindInWords => this switch
    {
        Object => Words.KindObject,
        Array => Words.KindArray,
        Text => Words.KindText,
        Number => Words.KindNumber,
        Truth => Words.KindTruth,
        _ => Words.KindNull,
    };
}
