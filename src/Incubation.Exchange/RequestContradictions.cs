using Incubation.Exchange.Json;
using Incubation.Model;

namespace Incubation.Exchange;

/// <summary>
/// Contradictions among assays and requests: what is named twice, what is not there, what comes after itself.
/// </summary>
internal static class RequestContradictions
{
    public static void Find(Members root, IReadOnlyList<Located<Assay>> assays,
        IReadOnlyList<Located<Request>> requests, FaultList faults)
    {
        EachOnce(assays, assay => assay.Code.Value, "code", Words.CodeTwice, faults);
        EachOnce(requests, request => request.Id.Value, "id", Words.IdTwice, faults);
        AssaysExist(root, requests, faults);
        AfterIsThere(root, requests, faults);
        AfterHasNoCycle(requests, faults);
    }

    private static void EachOnce<T>(IReadOnlyList<Located<T>> all, Func<T, string> name, string member, string fault,
        FaultList faults)
    {
        var seen = new Dictionary<string, Located<T>>();
        foreach (var one in all)
        {
            if (!seen.TryAdd(name(one.Value), one))
                faults.Add(one.At.At(member),
                    FaultList.Text(fault, name(one.Value), seen[name(one.Value)].At.At(member).Path),
                    Words.AllowedOnce);
        }
    }

    /// <summary>
    /// A request's assay is one of the day's, also of those with a fault of their own. Where a code cannot be read,
    /// nobody can say.
    /// </summary>
    private static void AssaysExist(Members root, IReadOnlyList<Located<Request>> requests, FaultList faults)
    {
        if (Texts(root, "assays", "code") is not { } codes)
            return;
        foreach (var request in requests.Where(request => !codes.Contains(request.Value.Assay.Value)))
            faults.Add(request.At.At("assay"), FaultList.Text(Words.UnknownAssay, request.Value.Assay),
                codes.Count == 0 ? Words.AllowedNone : FaultList.Text(Words.AllowedAssay, Shortened(codes)));
    }

    /// <summary>
    /// A request comes after others that are in the file; in mid-run one that is not there has been cleared or
    /// discarded.
    /// </summary>
    private static void AfterIsThere(Members root, IReadOnlyList<Located<Request>> requests, FaultList faults)
    {
        var ids = Texts(root, "requests", "id");
        var mayBeGone = root.Has("now") || ids is null;
        foreach (var request in requests)
        {
            for (var i = 0; i < request.Value.After.Count; i++)
            {
                var before = request.Value.After[i];
                var where = ((JsonItem.Array)request.At.At("after")).Items[i];
                if (before == request.Value.Id)
                    faults.Add(where, FaultList.Text(Words.AfterItself, before), Words.AllowedAfterOther);
                else if (request.Value.After.Take(i).Contains(before))
                    faults.Add(where, FaultList.Text(Words.AfterTwice, before), Words.AllowedAfterOnce);
                else if (!mayBeGone && !ids!.Contains(before.Value))
                    faults.Add(where, FaultList.Text(Words.UnknownAfter, before), Words.AllowedAfter);
            }
        }
    }

    /// <summary>
    /// No request comes, by way of others, after itself. A cycle is told once, at one of its requests.
    /// </summary>
    private static void AfterHasNoCycle(IReadOnlyList<Located<Request>> requests, FaultList faults)
    {
        var byId = requests.GroupBy(request => request.Value.Id)
            .ToDictionary(group => group.Key, group => group.First());
        var open = requests.Select(request => request.Value.Id).ToHashSet();
        var order = new List<RequestId>();
        foreach (var first in requests)
        {
            order.Clear();
            var id = first.Value.Id;
            if (open.Contains(id) && FindCycle(id, byId, open, order) is { } cycle)
                faults.Add(byId[cycle[0]].At.At("after"),
                    FaultList.Text(Words.AfterCycle, string.Join(" → ", cycle.Append(cycle[0]))), Words.AllowedNoCycle);
        }
    }

    /// <summary>
    /// Follows `after` from a request, depth first; closes what it has seen. At most 500 deep, one frame for each
    /// request.
    /// </summary>
    private static IReadOnlyList<RequestId>? FindCycle(RequestId id, Dictionary<RequestId, Located<Request>> byId,
        HashSet<RequestId> open, List<RequestId> path)
    {
        path.Add(id);
        foreach (var before in byId[id].Value.After.Where(before => before != id && byId.ContainsKey(before)))
        {
            if (path.IndexOf(before) is var at and >= 0)
            {
                open.ExceptWith(path);
                return path[at..];
            }
            if (open.Contains(before) && FindCycle(before, byId, open, path) is { } cycle)
                return cycle;
        }
        path.RemoveAt(path.Count - 1);
        open.Remove(id);
        return null;
    }

    /// <summary>
    /// The texts of one member of each object in an array, whatever else is wrong with them; null where one has none.
    /// </summary>
    private static HashSet<string>? Texts(Members root, string array, string member)
    {
        if (root.At(array) is not JsonItem.Array { Items: var items })
            return null;
        var texts = items.Select(item => ((item as JsonItem.Object)?.Find(member) as JsonItem.Text)?.Value).ToList();
        return texts.Contains(null) ? null : [.. texts.OfType<string>()];
    }

    private static string Shortened(HashSet<string> names)
    {
        const int most = 12;
        return string.Join(", ", names.Take(most)) + (names.Count > most ? ", …" : "");
    }
}
