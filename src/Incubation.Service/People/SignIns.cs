using Incubation.Clinic.People;
using Incubation.Model;
using Incubation.Service.Clock;
using NodaTime;

namespace Incubation.Service.People;

/// <summary>A sign-in as its person, or an administrator, sees it.</summary>
/// <param name="Handle">Names it on a page; nothing opens by it.</param>
/// <param name="Way">How the person showed who they are.</param>
/// <param name="Device">The enrolled device that it is bound to, or null.</param>
/// <param name="Browser">Which browser on which system, as it said itself, or null.</param>
/// <param name="InLog">What the log calls where it is.</param>
/// <param name="Started">When it began, in real time.</param>
/// <param name="LastSeen">When something was last touched in it, to the minute, in real time.</param>
/// <param name="IsThisOne">Whether it is the one of whoever looks.</param>
public sealed record OpenSignIn(string Handle, SignInWay Way, DeviceId? Device, string? Browser, DeviceId InLog,
    Instant Started, Instant LastSeen, bool IsThisOne);

/// <summary>A person's sign-ins that have not ended, and how to end them from another one.</summary>
public sealed class SignIns(Sessions sessions, BenchClock clock)
{
    /// <summary>A person's sign-ins, the one last touched first; none where the actor may not see them.</summary>
    public IReadOnlyList<OpenSignIn> Of(Actor actor, PersonId person) => !May(actor, person) ? [] :
    [
        .. sessions.Of(person).OrderByDescending(session => session.LastSeen)
            .ThenBy(session => session.Id, StringComparer.Ordinal)
            .Select(session => new OpenSignIn(HandleOf(session), session.Way, session.Device, session.Browser,
                session.Name, session.Started, session.LastSeen, session.Id == (actor as Actor.Person)?.Session.Id)),
    ];

    /// <summary>Ends one of a person's sign-ins.</summary>
    public Outcome End(Actor actor, PersonId person, string handle) =>
        End(actor, person, session => HandleOf(session) == handle);

    /// <summary>Ends every sign-in of a person but the actor's own.</summary>
    public Outcome EndOthers(Actor actor, PersonId person) =>
        End(actor, person, session => session.Id != (actor as Actor.Person)?.Session.Id);

    private Outcome End(Actor actor, PersonId person, Func<Session, bool> which)
    {
        if (!May(actor, person))
            return new Outcome(Words.NotAllowed);
        foreach (var session in sessions.Of(person).Where(which).ToList())
            sessions.End(session.Id, SignOutCause.FromElsewhere, Provenances.Of(actor, clock));
        return Outcome.Done();
    }

    private static bool May(Actor actor, PersonId person) =>
        actor is Actor.Person own && own.Who.Id == person
            ? Access.May(own, Right.OwnAccount) : Access.May(actor, Right.Administer);

    /// <summary>The id itself is the hash of a token: it stays inside.</summary>
    private static string HandleOf(Session session) => Tokens.Hash("sign-in " + session.Id)[..16];
}
