using Incubation.Model;

namespace Incubation.Clinic.People;

/// <summary>Who is behind a request, a call or a tap, as the server knows it at that moment.</summary>
/// <param name="Device">Through what, as the log names it.</param>
public abstract record Actor(DeviceId Device)
{
    /// <summary>A person who has signed in.</summary>
    /// <param name="Who">Who.</param>
    /// <param name="Session">The sign-in.</param>
    /// <param name="On">The enrolled device that it is bound to, or null.</param>
    public sealed record Person(ClinicPerson Who, Session Session, ClinicDevice? On) : Actor(Session.Name)
    {
        /// <summary>What the person may do here: a PIN alone gives no more than an aide's rights.</summary>
        public Role Role => Session.Way == SignInWay.Pin && Who.Role > Role.Aide ? Role.Aide : Who.Role;
    }

    /// <summary>An enrolled tablet or wall screen on which nobody is signed in.</summary>
    /// <param name="Enrolled">The device.</param>
    /// <param name="Last">Who was last signed in on it, or null.</param>
    public sealed record Tablet(ClinicDevice Enrolled, PersonId? Last) : Actor(Enrolled.Id);

    /// <summary>A program with its key.</summary>
    public sealed record Program(ClinicKey Key) : Actor(Key.Id);

    /// <summary>The one bench that this actor belongs to; null where it is any bench.</summary>
    public BenchId? Bench => this switch
    {
        Person person => person.On?.Bench,
        Tablet tablet => tablet.Enrolled.Bench,
        Program program => program.Key.Bench,
        _ => null,
    };

    /// <summary>Whether it is an enrolled tablet, locked or not.</summary>
    public bool IsOnTablet => this is Tablet { Enrolled.Kind: DeviceKind.Tablet }
        or Person { On.Kind: DeviceKind.Tablet };

    /// <summary>Who stands in the log.</summary>
    public PersonId InLog => this switch
    {
        Person person => person.Who.Id,
        Tablet { Last: { } last } => last,
        Program program => new PersonId(program.Key.Id.Value),
        _ => Nobody,
    };

    /// <summary>Stands in the log where a tablet reports on which nobody has ever signed in.</summary>
    public static PersonId Nobody { get; } = new("nobody");
}
