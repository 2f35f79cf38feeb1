using System.Buffers.Text;
using System.Net;
using Incubation.Clinic;
using Incubation.Clinic.People;
using Incubation.Model;
using Incubation.Records.People;
using Incubation.Service.Clinic;
using Incubation.Service.Clock;
using Incubation.Service.Text;
using Microsoft.AspNetCore.Identity;

namespace Incubation.Service.People;

/// <summary>
/// Looks after passkeys: where they work, who has which, and what is asked before one is added or removed. What an
/// authenticator signs is checked by ASP.NET Core Identity; that a passkey was added, used or removed is an event.
/// </summary>
public sealed class PasskeyService(ClinicHost clinic, PeopleStore store, PeopleService people, PasskeySettings settings,
    BenchClock clock)
{
    private const int MostTransports = 8;

    private PasskeysState Known => clinic.Log.People.Passkeys;

    /// <summary>Whether anybody has one.</summary>
    public bool AreUsed => Known.Domain is not null;

    /// <summary>The domain that they work under: that of those there are, else the one set; null where there is
    /// neither.</summary>
    public string? Domain => Known.Domain ?? settings.Domain;

    /// <summary>
    /// That the domain was set anew while there are passkeys for another one, in a sentence with what to do; or null.
    /// </summary>
    public string? DomainFault => Known.Domain is { } made && settings.Domain is { } wanted && made != wanted
        ? Say.Of(PasskeyWords.DomainDiffers, made) : null;

    /// <summary>Why no passkey works at an address of this server, in a sentence with what to do; or null.</summary>
    /// <param name="scheme">"https" or "http".</param>
    /// <param name="host">The name or number under which the server was reached, without a port.</param>
    public string? FaultAt(string scheme, string host)
    {
        var name = host.Trim('[', ']').ToLowerInvariant();
        return Domain is not { } domain ? PasskeyWords.NoDomain
            : IPAddress.TryParse(name, out _) ? Say.Of(PasskeyWords.ByNumber, domain)
            : scheme != Uri.UriSchemeHttps && !IsUnder(name, PasskeySettings.ThisMachine)
                ? Say.Of(PasskeyWords.NotByTls, domain)
            : !IsUnder(name, domain) ? Say.Of(PasskeyWords.OtherName, name, domain)
            : null;
    }

    /// <summary>A person's passkeys, the oldest first; none where the actor may not see them.</summary>
    public IReadOnlyList<ClinicPasskey> Of(Actor actor, PersonId person) =>
        IsOwn(actor, person) || Access.May(actor, Right.Administer) ? Known.Of(person) : [];

    /// <summary>What authenticators know a person by: the same for all their passkeys.</summary>
    public string HandleOf(PersonId person) => Known.Of(person) is [var first, ..] ? first.Added.Handle : Tokens.New();

    /// <summary>
    /// Whether a person may add a passkey now: who comes upon an open screen could else make themselves a way in that
    /// stays (OWASP ASVS 5.0, 7.5.1).
    /// </summary>
    public async Task<Outcome> MayAddAsync(Actor actor, string? name, string? password)
    {
        if (actor is not Actor.Person own || !Access.May(own, Right.OwnAccount))
            return new Outcome(Words.NotAllowed);
        if (DomainFault is { } differs)
            return new Outcome(differs);
        if (!Bounds.IsName(name?.Trim()))
            return new Outcome(PasskeyWords.NameFault);
        return Known.Of(own.Who.Id).Count >= PasskeysState.MostOfAPerson
            ? new Outcome(ClinicRefusalWords.TooManyPasskeys)
            : await people.AgainstPresentAsync(own, password) ?? Outcome.Done();
    }

    /// <summary>Adds a passkey that an authenticator has made, and whose making was checked.</summary>
    public Outcome Add(Actor actor, string? name, UserPasskeyInfo made, string handle)
    {
        ArgumentNullException.ThrowIfNull(made);
        if (actor is not Actor.Person own || !Access.May(own, Right.OwnAccount) || !made.IsUserVerified
            || Domain is not { } domain || !Bounds.IsName(name?.Trim()))
            return new Outcome(Words.NotAllowed);
        var added = new ClinicEvent.PasskeyAdded(
            new DeviceId("passkey-" + Tokens.NewName()), own.Who.Id, name!.Trim(), domain,
            Base64Url.EncodeToString(made.CredentialId), Base64Url.EncodeToString(made.PublicKey), handle,
            [.. (made.Transports ?? []).Where(IsTransport).Distinct().Take(MostTransports)], made.SignCount,
            made.IsBackupEligible);
        return Outcome.Of(() => clinic.Log.Record(added, Provenances.Of(own, clock)));
    }

    /// <summary>Removes a passkey: one's own, or anybody's by an administrator.</summary>
    public Outcome Remove(Actor actor, DeviceId passkey) =>
        Known.Find(passkey) is { } known && !IsOwn(actor, known.Person) && !Access.May(actor, Right.Administer)
            ? new Outcome(Words.NotAllowed)
            : Outcome.Of(() =>
                clinic.Log.Record(new ClinicEvent.PasskeyRemoved(passkey), Provenances.Of(actor, clock)));

    /// <summary>
    /// Removes all of a person's passkeys at the console: the way out for whoever owns the machine where no
    /// administrator is left.
    /// </summary>
    public Outcome RemoveAllAtConsole(string name) =>
        TextId.IsValid(name) && Known.Of(new PersonId(name)) is { Count: > 0 } all
            ? Outcome.Of(() => store.Record([.. all.Select(one => new ClinicEvent.PasskeyRemoved(one.Id))],
                Provenances.Of(new PersonId("server"), new DeviceId("console"), clock)))
            : new Outcome(Say.Of(PasskeyWords.RemoveUnknown, name));

    private static bool IsOwn(Actor actor, PersonId person) =>
        actor is Actor.Person own && own.Who.Id == person && Access.May(own, Right.OwnAccount);

    private static bool IsUnder(string name, string domain) =>
        name == domain || name.EndsWith("." + domain, StringComparison.Ordinal);

    /// <summary>Browsers' words for how an authenticator is reached: "usb", "smart-card".</summary>
    private static bool IsTransport(string text) => text.Length is > 0 and <= TextId.MaximumLength
        && text.All(letter => char.IsAsciiLetterLower(letter) || letter == '-');
}
