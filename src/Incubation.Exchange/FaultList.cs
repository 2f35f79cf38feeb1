using System.Globalization;
using Incubation.Exchange.Json;

namespace Incubation.Exchange;

/// <summary>Gathers the faults of one input, up to a limit.</summary>
internal sealed class FaultList
{
    public const int Maximum = 20;

    private readonly List<InputFault> _faults = [];

    public bool IsEmpty => _faults.Count == 0;

    public void Add(JsonItem where, string what, string allowed) => Add(where.Path, where.Line, what, allowed);

    public void Add(string path, int line, string what, string allowed)
    {
        if (_faults.Count < Maximum)
            _faults.Add(new InputFault(path, line, what, allowed));
    }

    /// <summary>The value where nothing is wrong, else the faults in the order of the text.</summary>
    public ParseResult<T> Result<T>(T? value)
        where T : class =>
        IsEmpty && value is not null
            ? new ParseResult<T>(value, [])
            : new ParseResult<T>(null, [.. _faults.OrderBy(fault => fault.Line)]);

    /// <summary>Fills a sentence in.</summary>
    public static string Text(string pattern, params object[] arguments) =>
        string.Format(CultureInfo.InvariantCulture, pattern, arguments);
}
