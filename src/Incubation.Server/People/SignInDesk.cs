using Incubation.Bench;
using Incubation.Model;
using Incubation.Records.Clinic;
using Incubation.Records.People;
using Incubation.Server.Clinic;
using Incubation.Server.Live;
using Microsoft.AspNetCore.Identity;
using NodaTime;

namespace Incubation.Server.People;

/// <summary>What became of a sign-in.</summary>
public abstract record SignInOutcome
{
    private SignInOutcome() { }

    /// <summary>Signed in; the token stands for it, or is null where an enrolled device's key does.</summary>
    public sealed record Done(PersonId Person, string? Token) : SignInOutcome;

    /// <summary>Not signed in, with the sentence that says why and what to do.</summary>
    public sealed record Refused(string Sentence) : SignInOutcome;
}

/// <summary>Where people sign in and out. Every sign-in and every refusal stands in the clinic's log.</summary>
public sealed class SignInDesk(ClinicBook clinic, PeopleStore store, Sessions sessions, BackOff backOff, BenchClock clock, IServiceScopeFactory scopes)
{
    private static readonly DeviceId Elsewhere = new("browser");

    /// <summary>Signs in by name and password.</summary>
    /// <param name="name">As typed.</param>
    /// <param name="password">As typed.</param>
    /// <param name="device">The enrolled device, or null.</param>
    /// <param name="address">The network address.</param>
    public async Task<SignInOutcome> PasswordAsync(string? name, string? password, ClinicDevice? device, string address)
    {
        using var scope = scopes.CreateScope();
        var accounts = scope.ServiceProvider.GetRequiredService<UserManager<Account>>();
        var typed = name?.Trim().ToLowerInvariant() ?? "";
        var account = await accounts.FindByNameAsync(typed);
        if (MustWait(account?.Person, typed, SignInWay.Password, device, address) is { } sentence)
            return RefuseWaiting(account?.Person, typed, SignInWay.Password, device, address, sentence);
        if (device is { Kind: DeviceKind.Wall })
            return new SignInOutcome.Refused(Words.SignInNotOnWall);
        // As much work for a name that nobody has as for one that somebody has.
        var fits = account?.PasswordHash is null
            ? SlowHasher.Verify(SlowHasher.Unfitting, password ?? "") != PasswordVerificationResult.Failed
            : await accounts.CheckPasswordAsync(account, password ?? "");
        return Judge(account?.Person, fits, typed, SignInWay.Password, device, address);
    }

    /// <summary>Signs in by PIN on an enrolled tablet.</summary>
    public SignInOutcome Pin(string? person, string? pin, ClinicDevice device, string address)
    {
        var name = person ?? "";
        var who = TextId.IsValid(name) ? clinic.Log.People.Person(new PersonId(name)) : null;
        if (MustWait(who, name, SignInWay.Pin, device, address) is { } sentence)
            return RefuseWaiting(who, name, SignInWay.Pin, device, address, sentence);
        var secret = who is null ? null : store.Find(who.Id.Value, SecretKind.Pin);
        var verdict = SlowHasher.Verify(secret?.Hash ?? SlowHasher.Unfitting, pin ?? "");
        if (verdict == PasswordVerificationResult.SuccessRehashNeeded)
            store.Rehash(secret! with { Hash = SlowHasher.Hash(pin!, SlowHasher.Rounds) });
        return Judge(who, verdict != PasswordVerificationResult.Failed, name, SignInWay.Pin, device, address);
    }

    private SignInOutcome Judge(ClinicPerson? who, bool fits, string name, SignInWay way, ClinicDevice? device, string address)
    {
        var place = Place(way, device, address);
        if (who is null || !fits)
        {
            backOff.Wrong(name, place);
            return Refuse(who, way, SignInFault.Wrong, device, address, way == SignInWay.Pin ? Words.PinWrong : Words.SignInWrong);
        }

        if (!who.IsActive)
            return Refuse(who, way, SignInFault.Ended, device, address, Words.SignInEnded);
        backOff.Right(name, place);
        return new SignInOutcome.Done(who.Id, sessions.Begin(who.Id, way, device?.Id, address));
    }

    private string? MustWait(ClinicPerson? who, string name, SignInWay way, ClinicDevice? device, string address)
    {
        if (backOff.Wait(name, Place(way, device, address)) is var wait && wait > Duration.Zero)
            return Say.Of(Words.SignInMustWait, Say.Length(wait));
        var side = device?.Id.Value ?? "";
        return who is not null && clinic.Log.People.Failures.GetValueOrDefault((who.Id, way, side)) >= BackOff.MostInARow ? Words.SignInTooManyWrong : null;
    }

    private SignInOutcome.Refused RefuseWaiting(ClinicPerson? who, string name, SignInWay way, ClinicDevice? device, string address, string sentence) =>
        backOff.IsFirstOfWait(name, Place(way, device, address)) ? Refuse(who, way, SignInFault.MustWait, device, address, sentence) : new SignInOutcome.Refused(sentence);

    private SignInOutcome.Refused Refuse(ClinicPerson? who, SignInWay way, SignInFault why, ClinicDevice? device, string address, string sentence)
    {
        var now = clock.Now;
        var touch = new Touch(new ReportId(Guid.CreateVersion7().ToString("N")), now, now, Actor.Nobody, device?.Id ?? Elsewhere);
        clinic.Log.Record(new ClinicEvent.SignInRefused(who?.Id, way, why, address), touch);
        return new SignInOutcome.Refused(sentence);
    }

    /// <summary>Where a try comes from, and by which way: a colleague's PIN guessed at on a tablet leaves the password open there.</summary>
    private static string Place(SignInWay way, ClinicDevice? device, string address) =>
        way + (device is null ? " from address " + address : " on device " + device.Id.Value);
}
