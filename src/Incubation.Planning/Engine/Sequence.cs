namespace Incubation.Planning.Engine;

/// <summary>What a sequence says about a job.</summary>
internal enum Mode : byte
{
    /// <summary>Its steps are in the sequence.</summary>
    Placed,

    /// <summary>Unplaced, or lost with its discard in the sequence.</summary>
    Left,

    /// <summary>Not yet in the sequence; nothing waits for it.</summary>
    Absent,
}

/// <summary>
/// A candidate: hands steps in the order in which they take hands, slots and readers, and where each cartridge reacts
/// and is read. Times follow from it (<see cref="Decoder"/>).
/// </summary>
internal sealed class Sequence
{
    public Sequence(BenchProblem problem)
    {
        Ops = new int[problem.Jobs * 5];
        Mode = new Mode[problem.Jobs];
        Reader = new int[problem.Jobs];
        InReader = new bool[problem.Jobs];
    }

    /// <summary>Operations, the first <see cref="Count"/> of them in use.</summary>
    public int[] Ops { get; }

    public int Count { get; set; }

    public Mode[] Mode { get; }

    /// <summary>The reader in which a job is read.</summary>
    public int[] Reader { get; }

    /// <summary>Whether the job reacts inside its reader.</summary>
    public bool[] InReader { get; }

    public void CopyFrom(Sequence other)
    {
        Array.Copy(other.Ops, Ops, other.Count);
        Count = other.Count;
        Array.Copy(other.Mode, Mode, Mode.Length);
        Array.Copy(other.Reader, Reader, Reader.Length);
        Array.Copy(other.InReader, InReader, InReader.Length);
    }

    /// <summary>Takes all steps of a job out.</summary>
    public void Remove(int job)
    {
        var kept = 0;
        for (var i = 0; i < Count; i++)
        {
            if (Op.Job(Ops[i]) != job)
                Ops[kept++] = Ops[i];
        }

        Count = kept;
    }

    /// <summary>Puts a step at a place, those from there on one place later.</summary>
    public void Insert(int index, int op)
    {
        Array.Copy(Ops, index, Ops, index + 1, Count - index);
        Ops[index] = op;
        Count++;
    }

    /// <summary>Moves the step at one place to another.</summary>
    public void Shift(int from, int to)
    {
        var op = Ops[from];
        if (from < to)
            Array.Copy(Ops, from + 1, Ops, from, to - from);
        else
            Array.Copy(Ops, to, Ops, to + 1, from - to);
        Ops[to] = op;
    }

    public int IndexOf(int op) => Array.IndexOf(Ops, op, 0, Count);
}
