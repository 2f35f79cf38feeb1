using System.Collections.Concurrent;
using System.Collections.Immutable;
using Incubation.Bench;
using Incubation.Clinic.Instruments;
using Incubation.Clinic.People;
using Incubation.Exchange.Lis;
using Incubation.Records.Instruments;
using Incubation.Service.Benches;
using Incubation.Service.Clinic;

namespace Incubation.Service.Instruments;

/// <summary>
/// Who may decide about a result that came by wire: a supervisor, where its own message speaks against it or it speaks
/// against what stands; else whoever may enter results. May be asked from any thread.
/// </summary>
public sealed class WireRights(ClinicHost clinic, BenchRegistry benches, WireStore store)
{
    /// <summary>What each open message says against each of its results: every page asks, and reading takes its time.
    /// </summary>
    private readonly ConcurrentDictionary<(long Message, WireEncoding By), ImmutableArray<MatchQuestion?>> objections =
        [];

    /// <summary>What it takes to enter it.</summary>
    public Right ToEnter(WireQuestion question)
    {
        ArgumentNullException.ThrowIfNull(question);
        return IsDoubted(question) ? Right.Supervise : Right.Direct;
    }

    /// <summary>What it takes to put it aside: of a cartridge whose result stands, and may be wrong, more.</summary>
    public Right ToPutAside(WireQuestion question)
    {
        ArgumentNullException.ThrowIfNull(question);
        return question.Fate.Question == MatchQuestion.OtherValue
            || (HasResult(question) && (question.Fate.Question == MatchQuestion.Correction || IsDoubted(question)))
            ? Right.Supervise : Right.Direct;
    }

    /// <summary>What it takes to decide it either way.</summary>
    public Right ToDecide(WireQuestion question) =>
        ToPutAside(question) == Right.Supervise || question.Fate.Result == WireFate.WholeMessage
            ? ToPutAside(question) : ToEnter(question);

    /// <summary>The message, as its instrument's settings have it now; null where nothing can be read of it.</summary>
    public ReaderMessage? Read(WireMessage message)
    {
        ArgumentNullException.ThrowIfNull(message);
        return store.Find(message.Number) is { } bytes && clinic.Log.Instruments.Find(message.Instrument) is { } by
            ? ReaderMessageReader.Read(bytes, by.Link.Encoding.InLis(), clinic.Facts.Zone).Message : null;
    }

    private bool IsDoubted(WireQuestion question) =>
        IsAgainst(question.Fate.Question) || IsAgainst(ObjectionTo(question));

    /// <summary>Whether what is asked is whether the value is right, not whose it is.</summary>
    private static bool IsAgainst(MatchQuestion? why) => why is MatchQuestion.ReaderRemarks or MatchQuestion.NotFinal
        or MatchQuestion.NotMeant or MatchQuestion.NotUnderstood or MatchQuestion.SeveralValues
        or MatchQuestion.OtherTime or MatchQuestion.OtherKind;

    private MatchQuestion? ObjectionTo(WireQuestion question)
    {
        var (message, result) = (question.Message, question.Fate.Result);
        if (result == WireFate.WholeMessage || clinic.Log.Instruments.Find(message.Instrument) is not { } by)
            return null;
        if (!objections.TryGetValue((message.Number, by.Link.Encoding), out var found))
        {
            foreach (var over in objections.Keys.Where(one =>
                clinic.Log.Instruments.Messages.GetValueOrDefault(one.Message) is not { DoneAt: null }))
                objections.TryRemove(over, out _);
            found = Read(message) is { } read ? [.. WiredResults.Of(read, null).Select(one => one.Objection)] : [];
            objections[(message.Number, by.Link.Encoding)] = found;
        }

        return found.ElementAtOrDefault(result - 1);
    }

    private bool HasResult(WireQuestion question) => question.Fate.Request is { } request
        && clinic.Log.Instruments.Find(question.Message.Instrument) is { Link.Bench: var bench }
        && benches.Find(bench.Value)?.Present.State.Find(request) is { Result: not null };
}
