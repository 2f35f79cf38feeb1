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

    /// <summary>Not signed in, with the sentence that says why and what to do.</summary>
    public sealed record Refused(string Sentence) : SignInOutcome;
}

/// <summary>Where somebody tries to sign in.</summary>
/// <param name="Device">The enrolled device, or null.</param>
/// <param name="Address">The network address.</param>
/// <param name="Browser">What the log calls a browser in which somebody has signed in before, or null.</param>
public sealed record SignInPlace(ClinicDevice? Device, string Address, DeviceId? Browser = null)
{
    private static readonly DeviceId Elsewhere = new("browser");

    /// <summary>What stands in the log.</summary>
    public DeviceId InLog => Device?.Id ?? Browser ?? Elsewhere;

    /// <summary>
    /// What tries are counted by: strangers elsewhere, and guesses at a colleague's PIN on a tablet, leave open what
    /// the colleague knows and has.
    /// </summary>
    public string CountedAs(SignInWay way) =>
        way + (Device is null && Browser is null ? " from address " + Address : " on device " + InLog.Value);
}

/// <summary>Where people sign in and out. Every sign-in and every refusal stands in the clinic's log.</summary>
public sealed class SignInService(ClinicHost clinic, PeopleStore store, Sessions sessions, BackOff backOff,
    BenchClock clock, IServiceScopeFactory scopes)
{
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
        if (MustWait(attempt) is { } refused)
            return refused;
        // As much work for a name that nobody has as for one that somebody has.
        var fits = account?.PasswordHash is null
            ? SlowHasher.Verify(SlowHasher.Unfitting, password ?? "") != PasswordVerificationResult.Failed
            : await accounts.CheckPasswordAsync(account, password ?? "");
        return Judge(attempt, fits);
    }

    /// <summary>Signs in by PIN on an enrolled tablet.</summary>
    public SignInOutcome Pin(string? person, string? pin, ClinicDevice device, string address)
    {
        var name = person ?? "";
        var who = TextId.IsValid(name) ? clinic.Log.People.Person(new PersonId(name)) : null;
        var attempt = new Attempt(who, name, SignInWay.Pin, new SignInPlace(device, address));
        if (MustWait(attempt) is { } refused)
            return refused;
        var secret = who is null ? null : store.Find(who.Id.Value, SecretKind.Pin);
        var verdict = SlowHasher.Verify(secret?.Hash ?? SlowHasher.Unfitting, pin ?? "");
        if (verdict == PasswordVerificationResult.SuccessRehashNeeded)
            store.Rehash(secret! with { Hash = SlowHasher.Hash(pin!, SlowHasher.Rounds) });
        return Judge(attempt, verdict != PasswordVerificationResult.Failed);
    }

    private sealed record Attempt(ClinicPerson? Who, string Name, SignInWay Way, SignInPlace Place)
    {
        public string CountedAs => Place.CountedAs(Way);
    }

    private SignInOutcome Judge(Attempt attempt, bool fits)
    {
        if (attempt.Who is not { } who || !fits)
            return Refuse(attempt, SignInFault.Wrong, attempt.Way == SignInWay.Pin
                ? PeopleWords.PinWrong : PeopleWords.SignInWrong);
        if (!who.IsActive)
            return Refuse(attempt, SignInFault.Ended, PeopleWords.SignInEnded);
        backOff.Right(attempt.Name, attempt.CountedAs);
        try
        {
            var browser = attempt.Place.Browser ?? new DeviceId(PeopleState.KnownBrowser + Tokens.NewName());
            return new SignInOutcome.Done(who.Id,
                sessions.Begin(who.Id, attempt.Way, attempt.Place.Device?.Id, attempt.Place.Address, browser), browser);
        }
        catch (AppendException fault)
        {
            return new SignInOutcome.Refused(fault.Message);
        }
    }

    /// <summary>Takes a try; or says that this one comes too early or is one too many.</summary>
    private SignInOutcome.Refused? MustWait(Attempt attempt)
    {
        if (backOff.Wait(attempt.Name, attempt.CountedAs) is var wait && wait > Duration.Zero)
        {
            var sentence = BackOff.Sentence(wait);
            return backOff.IsFirstOfWait(attempt.Name, attempt.CountedAs)
                ? Refuse(attempt, SignInFault.MustWait, sentence) : new SignInOutcome.Refused(sentence);
        }

        var people = clinic.Log.People;
        if (attempt.Who is { } who
            && people.Failures.GetValueOrDefault(
                (who.Id, attempt.Way, people.SideOf(attempt.Place.InLog))) >= BackOff.MaxInARow)
            return new SignInOutcome.Refused(attempt.Way == SignInWay.Pin
                ? PeopleWords.PinTooManyWrong : PeopleWords.SignInTooManyWrong);
        return backOff.MustWait(attempt.Name, attempt.CountedAs) is { } later ? new SignInOutcome.Refused(later) : null;
    }

    private SignInOutcome.Refused Refuse(Attempt attempt, SignInFault why, string sentence)
    {
        var refused = new ClinicEvent.SignInRefused(attempt.Who?.Id, attempt.Way, why, attempt.Place.Address);
        return new SignInOutcome.Refused(
            Outcome.Of(() =>
                clinic.Log.Record(refused, Provenances.Of(Actor.Nobody, attempt.Place.InLog, clock))).Fault
                ?? sentence);
    }
}
