namespace Incubation.Faults.HeldUp;

/// <summary>
/// Instants that keep distances from each other ("not before that one plus so much"), each at its earliest.
/// </summary>
internal sealed class Network
{
    private readonly List<long> at = [];
    private readonly List<long> latest = [];
    private readonly List<(int From, int To, long Least)> links = [];

    /// <summary>An instant between two; its number.</summary>
    public int Add(long earliest, long notAfter)
    {
        at.Add(earliest);
        latest.Add(notAfter);
        return at.Count - 1;
    }

    /// <summary>The earliest that an instant can be.</summary>
    public long At(int node) => at[node];

    public void NotBefore(int node, long earliest) => at[node] = Math.Max(at[node], earliest);

    /// <summary>One instant is at least so much after another; negative: at most so much before it.</summary>
    public void Link(int from, int to, long least) => links.Add((from, to, least));

    /// <summary>Moves every instant as far as it must; false where one would come too late.</summary>
    public bool Settle()
    {
        for (var round = 0; round <= at.Count; round++)
        {
            var moved = false;
            for (var index = links.Count - 1; index >= 0; index--)
            {
                var (from, to, least) = links[index];
                if (at[from] + least <= at[to])
                    continue;
                at[to] = at[from] + least;
                moved = true;
                if (at[to] > latest[to])
                    return false;
            }

            if (!moved)
                return !at.Zip(latest).Any(node => node.First > node.Second);
        }

        // Instants that push each other for ever.
        return false;
    }

    /// <summary>What stands now, to come back to.</summary>
    public (long[] At, int Links) Mark() => ([.. at], links.Count);

    public void Reset((long[] At, int Links) mark)
    {
        at.RemoveRange(mark.At.Length, at.Count - mark.At.Length);
        latest.RemoveRange(mark.At.Length, latest.Count - mark.At.Length);
        links.RemoveRange(mark.Links, links.Count - mark.Links);
        for (var node = 0; node < mark.At.Length; node++)
            at[node] = mark.At[node];
    }
}
