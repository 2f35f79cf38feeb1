using Incubation.Clinic.People;
using Incubation.Service.People;
using Microsoft.AspNetCore.Identity;
using Microsoft.Extensions.Options;

namespace Incubation.Server.Doors;

/// <summary>
/// Asks authenticators, and has their answers checked by ASP.NET Core Identity: challenge, origin, domain, that the
/// person was verified, and the signature. Each challenge stays on the server and is good for one answer.
/// </summary>
public sealed class Passkeys(PasskeyService desk, PasskeyChallenges challenges, UserManager<Account> accounts)
{
    /// <summary>An answer longer than this is none: keys and signatures are short.</summary>
    public const int LongestAnswer = 16 * 1024;

    private const string Required = "required";

    /// <summary>What to ask for a new passkey of a person, and what the answer is handed in with.</summary>
    public async Task<(string Options, string Ticket)> AskForNewAsync(HttpContext context, Actor.Person own,
        string name)
    {
        var made = await Handler().MakeCreationOptionsAsync(new PasskeyUserEntity
        {
            Id = desk.HandleOf(own.Who.Id),
            Name = own.Who.Id.Value,
            DisplayName = own.Who.Name,
        }, context);
        return (made.CreationOptionsJson, challenges.Keep(
            new PasskeyChallenge(made.AttestationState ?? "", own.Session.Id, name), Addresses.Of(context)));
    }

    /// <summary>What to ask whoever wants to sign in, and what the answer is handed in with.</summary>
    public async Task<(string Options, string Ticket)> AskForAnyAsync(HttpContext context)
    {
        var made = await Handler().MakeRequestOptionsAsync(null, context);
        return (made.RequestOptionsJson,
            challenges.Keep(new PasskeyChallenge(made.AssertionState ?? ""), Addresses.Of(context)));
    }

    /// <summary>Adds the passkey that an authenticator has made.</summary>
    public async Task<Outcome> AddAsync(HttpContext context, Actor.Person own, string? ticket, string? answer)
    {
        if (challenges.Take(ticket) is not { } asked || asked.Session != own.Session.Id)
            return new Outcome(PasskeyWords.ChallengeOver);
        if (answer is null or { Length: > LongestAnswer })
            return new Outcome(PasskeyWords.NotMade);
        var result = await Handler().PerformAttestationAsync(
            new PasskeyAttestationContext
            {
                HttpContext = context,
                CredentialJson = answer,
                AttestationState = asked.State,
            });
        return result.Succeeded
            ? desk.Add(own, asked.Name, result.Passkey, result.UserEntity.Id) : new Outcome(PasskeyWords.NotMade);
    }

    /// <summary>Checks the answer of whoever wants to sign in; whose passkey it is, or null.</summary>
    public async Task<(Account Account, UserPasskeyInfo Passkey)?> CheckAsync(HttpContext context, string? ticket,
        string answer)
    {
        if (challenges.Take(ticket) is not { Session: null } asked || answer.Length > LongestAnswer)
            return null;
        var result = await Handler().PerformAssertionAsync(
            new PasskeyAssertionContext
            {
                HttpContext = context,
                CredentialJson = answer,
                AssertionState = asked.State,
            });
        return result.Succeeded ? (result.User, result.Passkey) : null;
    }

    private PasskeyHandler<Account> Handler() => new(accounts, Options.Create(new IdentityPasskeyOptions
    {
        ServerDomain = desk.Domain,
        UserVerificationRequirement = Required,
        // Nobody types a name: the authenticator knows whose passkey it is.
        ResidentKeyRequirement = Required,
        AuthenticatorTimeout = PasskeyChallenges.Lasts.ToTimeSpan(),
    }));
}
