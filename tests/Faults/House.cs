using NodaTime;

namespace Incubation.Faults;

/// <summary>
/// What the benches of a clinic share: true time, the machine with its clocks, the disk's room, and the process. When
/// it dies, it dies for all of them.
/// </summary>
/// <param name="agenda">True time.</param>
/// <param name="machine">The machine.</param>
internal sealed class House(Agenda agenda, VirtualMachine machine)
{
    private readonly List<World> worlds = [];
    private Instant downUntil;

    public Agenda Agenda { get; } = agenda;

    public VirtualMachine Machine { get; } = machine;

    /// <summary>The benches, in the order in which they were opened.</summary>
    public IReadOnlyList<World> Worlds => worlds;

    public void Add(World world) => worlds.Add(world);

    /// <summary>The process of a bench has died: it was that of the others too.</summary>
    public void Died(World whose, string why, Duration down)
    {
        downUntil = Agenda.Now + down;
        foreach (var other in worlds)
            if (other != whose)
                other.Server.DieWithTheProcess(why, down);
    }

    /// <summary>Starts a bench's part of the process: now, or where it is dead now, when it is started again.</summary>
    public void Start(World world)
    {
        if (world.Server.IsUp || world.IsOver)
            return;
        if (downUntil > Agenda.Now)
            Agenda.At(downUntil, () => Start(world));
        else
            world.Server.Start();
    }

    /// <summary>Lets everything happen until every bench's day is over.</summary>
    public void Run()
    {
        while (!worlds.TrueForAll(world => world.IsOver) && Agenda.Next())
            foreach (var world in worlds)
                world.EndWhenOver();
        foreach (var world in worlds)
            world.End();
    }
}
