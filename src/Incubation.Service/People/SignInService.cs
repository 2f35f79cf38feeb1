using Incubation.Clinic;
using Incubation.Clinic.People;
using Incubation.Model;
using Incubation.Records.Log;
using Incubation.Records.People;
using Incubation.Service.Clinic;
using Incubation.Service.Clock;
using Microsoft.AspNetCore.Identity;
using NodaTime;

namespace Incubation.Service.People;

/// <summary>What became of a sign-in.</summary>
public abstract record SignInOutcome
{
    private SignInOutcome() { }

    /// <summary>Signed in.</summary>
    /// <param name="Person">Who.</param>
    /// <param name="Token">Stands for the sign-in; null where an enrolled device's key does.</param>
    /// <param name="Browser">By which name the log knows the browser from now on.</param>
    public sealed record Done(PersonId Person, string? Token, DeviceId Browser) : SignInOutcome;

    /// <summary>Not signed in.</summary>
    /// <param name="Sentence">Why, and what to do.</param>
    /// <param name="IsNotNow">Whether nothing was judged: too many others are signing in.</param>
    public sealed record Refused(string Sentence, bool IsNotNow = false) : SignInOutcome;
}

/// <summary>Where somebody tries to sign in.</summary>
/// <param name="Device">The enrolled device, or null.</param>
/// <param name="Address">The network address.</param>
/// <param name="Browser">A browser in which somebody has signed in before, or null.</param>
/// <param name="Called">Which browser on which system it is, as it says itself, or null.</param>
public sealed record SignInPlace(ClinicDevice? Device, string Address, KnownBrowser? Browser = null,
    string? Called = null)
{
    private static readonly DeviceId Elsewhere = new("browser");

    /// <summary>What stands in the log.</summary>
    public DeviceId InLog => Device?.Id ?? Browser?.Name ?? Elsewhere;

    /// <summary>Whether a person signed in here before: then strangers' tries elsewhere do not count here.</summary>
    public bool IsKnownTo(PersonId person, PeopleState people) =>
        Device is { } device ? people.SignedInOn.Contains((person, device.Id))
        : Browser is { } browser && browser.Persons.Contains(person);

    /// <summary>
    /// What tries are counted by: an enrolled device, a browser where the person signed in before, else the address,
    /// for a browser that knows others is easily had.
    /// </summary>
    public string CountedAs(SignInWay way, bool isKnown) =>
        way + (Device is null && !isKnown ? " from address " + Address : " on device " + InLog.Value);
}

/// <summary>A browser in which somebody has signed in before.</summary>
/// <param name="Name">What the log calls it.</param>
/// <param name="Persons">Who has signed in in it, the latest first.</param>
public sealed record KnownBrowser(DeviceId Name, IReadOnlyList<PersonId> Persons);

/// <summary>Where people sign in and out. Every sign-in and every refusal stands in the clinic's log.</summary>
public sealed partial class SignInService(ClinicHost clinic, PeopleStore store, Sessions sessions, BackOff backOff,
    HashingQueue hashing, BenchClock clock, IServiceScopeFactory scopes, ILogger<SignInService> logger)
{
    /// <summary>
    /// So many refusals of strangers stand in the log in a day; further ones are counted and slowed down, not written.
    /// </summary>
    public const int MaxRefusalsADay = 1000;

    private readonly DailyLimit refusals = new(MaxRefusalsADay);

    /// <summary>Signs in by name and password.</summary>
    /// <param name="name">As typed.</param>
    /// <param name="password">As typed.</param>
    /// <param name="place">Where.</param>
    public async Task<SignInOutcome> PasswordAsync(string? name, string? password, SignInPlace place)
    {
        using var scope = scopes.CreateScope();
        var accounts = scope.ServiceProvider.GetRequiredService<UserManager<Account>>();
        var typed = name?.Trim().ToLowerInvariant() ?? "";
        var account = await accounts.FindByNameAsync(typed);
        var attempt = new Attempt(account?.Person, typed, SignInWay.Password, place);
        if (place.Device is { Kind: DeviceKind.Wall })
            return new SignInOutcome.Refused(PeopleWords.SignInNotOnWall);
        using var turn = await hashing.EnterAsync();
        if (turn is null)
            return new SignInOutcome.Refused(PeopleWords.SignInBusy, IsNotNow: true);
        if (MustWait(attempt) is { } refused)
            return refused;
        // What is too long to be a password is not hashed; as much work for a name that nobody has as for one that
        // somebody has.
        var bounded = password is { Length: <= PasswordRule.Longest } ? password : "";
        var fits = account?.PasswordHash is null
            ? SlowHasher.Verify(SlowHasher.Unfitting, bounded) != PasswordVerificationResult.Failed
            : await accounts.CheckPasswordAsync(account, bounded);
        return Judge(attempt, fits);
    }

    /// <summary>Signs in by PIN on an enrolled tablet.</summary>
    public async Task<SignInOutcome> PinAsync(string? person, string? pin, ClinicDevice device, string address)
    {
        var name = person ?? "";
        var who = TextId.IsValid(name) ? clinic.Log.People.Person(new PersonId(name)) : null;
        var attempt = new Attempt(who, name, SignInWay.Pin, new SignInPlace(device, address));
        using var turn = await hashing.EnterAsync();
        if (turn is null)
            return new SignInOutcome.Refused(PeopleWords.SignInBusy, IsNotNow: true);
        if (MustWait(attempt) is { } refused)
            return refused;
        var secret = who is null ? null : store.Find(who.Id.Value, SecretKind.Pin);
        var bounded = pin is { Length: PasswordRule.PinDigits } ? pin : "";
        var verdict = SlowHasher.Verify(secret?.Hash ?? SlowHasher.Unfitting, bounded);
        if (verdict == PasswordVerificationResult.SuccessRehashNeeded)
            store.Rehash(secret! with { Hash = SlowHasher.Hash(pin!, SlowHasher.Rounds) });
        return Judge(attempt, verdict != PasswordVerificationResult.Failed);
    }

    /// <summary>Signs in by a passkey.</summary>
    /// <param name="credential">What the authenticator answered, as the browser wrote it down.</param>
    /// <param name="verifyAsync">Checks the answer; whose passkey it is, with its count, or null.</param>
    /// <param name="place">Where.</param>
    public async Task<SignInOutcome> PasskeyAsync(string? credential,
        Func<string, Task<(Account Account, UserPasskeyInfo Passkey)?>> verifyAsync, SignInPlace place)
    {
        ArgumentNullException.ThrowIfNull(verifyAsync);
        if (place.Device is { Kind: DeviceKind.Wall })
            return new SignInOutcome.Refused(PeopleWords.SignInNotOnWall);
        var people = clinic.Log.People;
        var known = people.Passkeys.Ever(AccountStore.CredentialOf(credential));
        var who = known is null ? null : people.Person(known.Person);
        var attempt = new Attempt(who, who?.Id.Value ?? "", SignInWay.Passkey, place);
        if (MustWait(attempt) is { } refused)
            return refused;
        if (known is null || who is null || await verifyAsync(credential!) is not { } verified
            || verified.Account.Person.Id != who.Id)
            return Refuse(attempt, SignInFault.Wrong, PasskeyWords.Refused);
        return Judge(attempt, true, new ClinicEvent.PasskeyUsed(known.Id, verified.Passkey.SignCount));
    }

    private sealed record Attempt(ClinicPerson? Who, string Name, SignInWay Way, SignInPlace Place);

    private BackOff.Guess GuessOf(Attempt attempt)
    {
        var people = clinic.Log.People;
        var isKnown = attempt.Who is { } person && attempt.Place.IsKnownTo(person.Id, people);
        return new BackOff.Guess(attempt.Name, attempt.Place.CountedAs(attempt.Way, isKnown))
        {
            IsPerson = attempt.Who is not null,
            // Nobody guesses a signature: strangers' tries at a passkey do not make its owner wait.
            IsStranger = !isKnown && attempt.Way != SignInWay.Passkey,
            Way = attempt.Way.ToString(),
            WrongInARow = attempt is { Who: { } who, Way: not SignInWay.Passkey } ? people.Failures.GetValueOrDefault(
                (who.Id, attempt.Way, isKnown ? people.SideOf(attempt.Place.InLog) : "")) : 0,
        };
    }

    private SignInOutcome Judge(Attempt attempt, bool fits, ClinicEvent.PasskeyUsed? used = null)
    {
        if (attempt.Who is not { } who || !fits)
            return Refuse(attempt, SignInFault.Wrong, attempt.Way == SignInWay.Pin
                ? PeopleWords.PinWrong : PeopleWords.SignInWrong);
        if (!who.IsActive || who.HasEnded(clinic.Today(clock.Now)))
            return Refuse(attempt, SignInFault.Ended, PeopleWords.SignInEnded);
        // What is signed in on a tablet stands at a bench for all; who inspects has no part in it.
        if (who.Role == Role.Inspector && attempt.Place.Device is not null)
            return new SignInOutcome.Refused(PeopleWords.InspectorNotOnTablet);
        backOff.Right(GuessOf(attempt));
        try
        {
            var (place, browser) = (attempt.Place,
                attempt.Place.Browser?.Name ?? new DeviceId(PeopleState.KnownBrowser + Tokens.NewName()));
            return sessions.TryBegin(who.Id, attempt.Way, place.Device?.Id, place.Address, browser, place.Called, used,
                out var token) switch
            {
                null => new SignInOutcome.Done(who.Id, token, browser),
                { Why: ClinicRefusal.PasskeyCountWentBack } =>
                    Refuse(attempt, SignInFault.CountWentBack, PasskeyWords.CountWentBack),
                var refused => new SignInOutcome.Refused(ClinicText.Say(refused)),
            };
        }
        catch (AppendException fault)
        {
            return new SignInOutcome.Refused(fault.Message);
        }
    }

    /// <summary>Takes a try; or says that this one comes too early or is one too many.</summary>
    private SignInOutcome.Refused? MustWait(Attempt attempt)
    {
        var people = clinic.Log.People;
        if (attempt is { Who: { } who, Way: SignInWay.Pin } && people.Failures.GetValueOrDefault(
            (who.Id, attempt.Way, people.SideOf(attempt.Place.InLog))) >= BackOff.MaxInARow)
            return new SignInOutcome.Refused(PeopleWords.PinTooManyWrong);
        var guess = GuessOf(attempt);
        if (backOff.Take(guess) is var wait && wait == Duration.Zero)
            return null;
        var sentence = BackOff.Sentence(wait);
        return backOff.IsFirstOfWait(guess)
            ? Refuse(attempt, SignInFault.MustWait, sentence) : new SignInOutcome.Refused(sentence);
    }

    private SignInOutcome.Refused Refuse(Attempt attempt, SignInFault why, string sentence)
    {
        var isKnown = attempt.Who is { } who && attempt.Place.IsKnownTo(who.Id, clinic.Log.People);
        if (!isKnown && !refusals.Take(clock.Now))
        {
            if (refusals.IsFirstBeyond)
                NotWritten(MaxRefusalsADay);
            return new SignInOutcome.Refused(sentence);
        }

        var refused = new ClinicEvent.SignInRefused(attempt.Who?.Id, attempt.Way, why, attempt.Place.Address);
        return new SignInOutcome.Refused(
            Outcome.Of(() =>
                clinic.Log.Record(refused, Provenances.Of(Actor.Nobody, attempt.Place.InLog, clock))).Fault
                ?? sentence);
    }

    [LoggerMessage(LogLevel.Warning, "More than {Most} sign-ins were refused today: further ones are not recorded.")]
    private partial void NotWritten(int most);
}
