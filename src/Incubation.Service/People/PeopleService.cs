using Incubation.Bench;
using Incubation.Clinic;
using Incubation.Clinic.People;
using Incubation.Model;
using Incubation.Records.People;
using Incubation.Service.Clinic;
using Incubation.Service.Clock;
using Incubation.Service.Text;
using Microsoft.AspNetCore.Identity;
using NodaTime;
using NodaTime.Extensions;
using NodaTime.Text;

namespace Incubation.Service.People;

/// <summary>
/// Looks after people: who there is, what they may do, their passwords and PINs. Nobody is given a password: a new
/// person, or one who has forgotten theirs, is given a code with which to set it, once.
/// </summary>
public sealed class PeopleService(
    ClinicHost clinic, PeopleStore store, Sessions sessions, BackOff backOff, HashingQueue hashing, BenchClock clock,
        IServiceScopeFactory scopes,
    [FromKeyedServices(Sessions.RealTime)] TimeProvider real)
{
    /// <summary>A welcome code opens nothing any more after so long.</summary>
    public static readonly Duration CodeLasts = Duration.FromDays(3);

    /// <summary>Everybody, by name.</summary>
    public IReadOnlyList<ClinicPerson> All =>
        [.. clinic.Log.People.Persons.Values.OrderBy(person => person.Name, StringComparer.CurrentCultureIgnoreCase)];

    /// <summary>Adds a person; shows the code with which they set their password.</summary>
    public Outcome Add(Actor actor, string? id, string? name, Role role)
    {
        if (FaultOf(actor, id, name) is { } fault)
            return fault;
        var person = Wanted(id);
        return WithCode(Provenances.Of(actor, clock), person,
            [new ClinicEvent.PersonAdded(person, name!.Trim(), role)]);
    }

    /// <summary>
    /// Lets somebody read what is kept until the end of a day, and send nothing; shows the code with which they set
    /// their password, once.
    /// </summary>
    public Outcome Admit(Actor actor, string? id, string? name, string? lastDay)
    {
        if (FaultOf(actor, id, name) is { } fault)
            return fault;
        if (LocalDatePattern.Iso.Parse(lastDay ?? "") is not { Success: true } day)
            return new Outcome(Say.Of(PeopleWords.InspectorDayFault, ClinicPerson.MostInspectorDays));
        var person = Wanted(id);
        return WithCode(Provenances.Of(actor, clock), person,
            [new ClinicEvent.InspectorAdmitted(person, name!.Trim(), day.Value)]);
    }

    /// <summary>What speaks against a new person of a user name and a name, or null.</summary>
    private static Outcome? FaultOf(Actor actor, string? id, string? name) =>
        !Access.May(actor, Right.Administer) ? new Outcome(Words.NotAllowed)
        : !IsName(Written(id)) ? new Outcome(PeopleWords.PersonIdFault)
        : !Bounds.IsName(name?.Trim()) ? new Outcome(PeopleWords.PersonNameFault)
        : null;

    private static PersonId Wanted(string? id) => new(Written(id));

    private static string Written(string? id) => id?.Trim().ToLowerInvariant() ?? "";

    /// <summary>Today, in the clinic's zone.</summary>
    public LocalDate Today => clinic.Today(clock.Now);

    /// <summary>Gives a person a new code; what they have now goes on until they use it.</summary>
    public Outcome NewCode(Actor actor, PersonId person) =>
        Access.May(actor, Right.Administer)
            ? WithCode(Provenances.Of(actor, clock), person, []) : new Outcome(Words.NotAllowed);

    /// <summary>Gives a person a new code at the console: the way back in for whoever owns the machine.</summary>
    public Outcome NewCodeAtConsole(string name) => TextId.IsValid(name)
        && clinic.Log.People.Person(new PersonId(name)) is { IsActive: true } person
        ? WithCode(Provenances.Of(new PersonId("server"), new DeviceId("console"), clock), person.Id, [])
        : new Outcome(Say.Of(PeopleWords.NewCodeUnknown, name));

    /// <summary>Changes what a person may do.</summary>
    public Outcome ChangeRole(Actor actor, PersonId person, Role role) =>
        Change(actor, person, new ClinicEvent.RoleChanged(person, role));

    /// <summary>Takes away a person's right to sign in, at once.</summary>
    /// <remarks>Password, PIN, code and passkeys are gone: who comes back sets new ones.</remarks>
    public Outcome End(Actor actor, PersonId person) => Change(
        actor, person, new ClinicEvent.PersonEnded(person),
        [(person.Value, SecretKind.Password), (person.Value, SecretKind.Pin), (person.Value, SecretKind.WelcomeCode)]);

    /// <summary>Gives it back.</summary>
    public Outcome Resume(Actor actor, PersonId person) => Change(actor, person, new ClinicEvent.PersonResumed(person));

    /// <summary>Sets a first or new password, and a PIN where one is given, by a welcome code.</summary>
    public async Task<Outcome> WelcomeAsync(string? id, string? code, string? password, string? pin, string address)
    {
        var name = id?.Trim().ToLowerInvariant() ?? "";
        var person = TextId.IsValid(name) ? clinic.Log.People.Person(new PersonId(name)) : null;
        var guess = new BackOff.Guess("welcome " + name, "address " + address) { IsPerson = person is not null };
        if (backOff.MustWait(guess) is { } sentence)
            return new Outcome(sentence);
        var secret = person is null ? null : store.Find(name, SecretKind.WelcomeCode);
        if (person is not { IsActive: true } || person.HasEnded(Today) || secret is null
            || secret.Expires < real.GetUtcNow().ToInstant()
            || !Tokens.Fits(Tokens.Normal(code), secret.Hash))
            return new Outcome(PeopleWords.WelcomeWrong);
        backOff.Right(guess);
        return await SetAsync(person, password, pin, new DeviceId("browser"), null);
    }

    /// <summary>Sets one's own password, and a PIN where one is given; ends one's other sign-ins.</summary>
    public async Task<Outcome> ChangeOwnAsync(Actor actor, string? present, string? password, string? pin)
    {
        if (actor is not Actor.Person own || !Access.May(own, Right.OwnAccount))
            return new Outcome(Words.NotAllowed);
        using var turn = await hashing.EnterAsync();
        if (turn is null)
            return new Outcome(PeopleWords.SignInBusy);
        if (AgainstPresent(own, present) is { } refused)
            return refused;
        return await SetAsync(own.Who, string.IsNullOrEmpty(password)
            ? null : password, pin, own.Device, own.Session.Id);
    }

    /// <summary>
    /// That the password typed is not the person's own, or comes too early; null where it is, and they are there
    /// themselves.
    /// </summary>
    internal async Task<Outcome?> AgainstPresentAsync(Actor.Person own, string? present)
    {
        using var turn = await hashing.EnterAsync();
        return turn is null ? new Outcome(PeopleWords.SignInBusy) : AgainstPresent(own, present);
    }

    private Outcome? AgainstPresent(Actor.Person own, string? present)
    {
        var guess = new BackOff.Guess(own.Who.Id.Value, "own " + own.Device.Value) { IsPerson = true };
        if (backOff.MustWait(guess) is { } sentence)
            return new Outcome(sentence);
        var hash = store.Find(own.Who.Id.Value, SecretKind.Password)?.Hash;
        if (SlowHasher.Verify(hash ?? SlowHasher.Unfitting, Bounded(present)) == PasswordVerificationResult.Failed)
            return new Outcome(PeopleWords.PresentPasswordWrong);
        backOff.Right(guess);
        return null;
    }

    private static string Bounded(string? password) => password is { Length: <= PasswordRule.Longest } ? password : "";

    /// <summary>Sets what is given; all or, where something is wrong with any of it, nothing.</summary>
    private async Task<Outcome> SetAsync(ClinicPerson person, string? password, string? pin, DeviceId device,
        string? session)
    {
        var newPin = string.IsNullOrEmpty(pin) ? null : pin;
        if (newPin is not null && person.Role == Role.Inspector)
            return new Outcome(PeopleWords.InspectorNoPin);
        if (newPin is not null && PasswordRule.PinFault(newPin) is { } fault)
            return new Outcome(fault);
        if (password is null && session is null)
            return new Outcome(Say.Of(PeopleWords.PasswordTooShort, PasswordRule.Shortest));
        if (password is null && newPin is null)
            return new Outcome(PeopleWords.NothingToSet);
        if (password is not null
            && await SetPasswordAsync(person, password,
                Provenances.Of(person.Id, device, clock)) is { IsDone: false } refused)
            return refused;
        if (newPin is not null)
        {
            var hash = SlowHasher.Hash(newPin, SlowHasher.Rounds);
            var outcome = Outcome.Of(() => store.Record(
                [new ClinicEvent.SecretSet(person.Id, SecretKind.Pin)], Provenances.Of(person.Id, device, clock),
                    [new Secret(person.Id.Value, SecretKind.Pin, hash)]));
            if (!outcome.IsDone)
                return outcome;
        }

        backOff.Forget(person.Id);
        sessions.EndAllOf(person.Id, session);
        return Outcome.Done();
    }

    private async Task<Outcome> SetPasswordAsync(ClinicPerson person, string password, Provenance provenance)
    {
        using var scope = scopes.CreateScope();
        var accounts = scope.ServiceProvider.GetRequiredService<UserManager<Account>>();
        var result = await accounts.AddPasswordAsync(new Account(person) { ChangedBy = provenance }, password);
        return result.Succeeded ? Outcome.Done() : new Outcome(result.Errors.First().Description);
    }

    private Outcome WithCode(Provenance provenance, PersonId person, IReadOnlyList<ClinicEvent> before)
    {
        var code = Tokens.NewCode();
        var secret = new Secret(person.Value, SecretKind.WelcomeCode, Tokens.Hash(code), real.GetUtcNow().ToInstant()
            + CodeLasts);
        return Outcome.Of(() => store.Record([.. before, new ClinicEvent.SecretSet(person, SecretKind.WelcomeCode)],
            provenance, [secret]), code);
    }

    private Outcome Change(Actor actor, PersonId person, ClinicEvent change,
        IReadOnlyList<(string Owner, SecretKind Kind)>? remove = null)
    {
        if (!Access.May(actor, Right.Administer))
            return new Outcome(Words.NotAllowed);
        var outcome = Outcome.Of(() => store.Record([change], Provenances.Of(actor, clock), remove: remove));
        if (outcome.IsDone && change is ClinicEvent.PersonEnded)
            sessions.EndAllOf(person);
        sessions.TellChanged();
        return outcome;
    }

    /// <summary>Names to sign in with are typed on tablets and stand in the log for ever: short and plain.</summary>
    internal static bool IsName(string name) =>
        name.Length is >= 2 and <= 32 && char.IsAsciiLetter(name[0])
            && name.All(letter => char.IsAsciiLetterLower(letter) || char.IsAsciiDigit(letter) || letter is '.' or '-')
        && name is not ("nobody" or "planner" or "demo" or "server");
}
