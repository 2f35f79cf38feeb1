using System.Buffers.Text;
using System.Text.Json;
using Incubation.Clinic.People;
using Microsoft.AspNetCore.Identity;

namespace Incubation.Service.People;

/// <summary>Identity's view of passkeys: they come from the clinic's log, and come and go by events alone.</summary>
public sealed partial class AccountStore : IUserPasskeyStore<Account>
{
    /// <inheritdoc/>
    public Task<IList<UserPasskeyInfo>> GetPasskeysAsync(Account user, CancellationToken cancellationToken)
    {
        ArgumentNullException.ThrowIfNull(user);
        return Task.FromResult<IList<UserPasskeyInfo>>(
            [.. clinic.Log.People.Passkeys.Of(user.Person.Id).Select(InfoOf)]);
    }

    /// <inheritdoc/>
    public Task<Account?> FindByPasskeyIdAsync(byte[] credentialId, CancellationToken cancellationToken) =>
        Task.FromResult(Find(credentialId) is { } passkey ? Find(passkey.Person.Value) : null);

    /// <inheritdoc/>
    public Task<UserPasskeyInfo?> FindPasskeyAsync(Account user, byte[] credentialId,
        CancellationToken cancellationToken)
    {
        ArgumentNullException.ThrowIfNull(user);
        return Task.FromResult(Find(credentialId) is { } passkey && passkey.Person == user.Person.Id
            ? InfoOf(passkey) : null);
    }

    /// <summary>Passkeys come and go by events alone.</summary>
    public Task AddOrUpdatePasskeyAsync(Account user, UserPasskeyInfo passkey, CancellationToken cancellationToken) =>
        throw new NotSupportedException();

    /// <summary>Passkeys come and go by events alone.</summary>
    public Task RemovePasskeyAsync(Account user, byte[] credentialId, CancellationToken cancellationToken) =>
        throw new NotSupportedException();

    /// <summary>
    /// The id of the passkey in an authenticator's answer, base64url, as the browser wrote it down; null where it holds
    /// none. Only to know whose try it is: nothing is believed of it.
    /// </summary>
    internal static string? CredentialOf(string? json)
    {
        try
        {
            using var answer = JsonDocument.Parse(json ?? "");
            return answer.RootElement.ValueKind == JsonValueKind.Object
                && answer.RootElement.TryGetProperty("id", out var id) && id.ValueKind == JsonValueKind.String
                ? id.GetString() : null;
        }
        catch (JsonException)
        {
            return null;
        }
    }

    private ClinicPasskey? Find(byte[] credentialId) =>
        clinic.Log.People.Passkeys.Find(Base64Url.EncodeToString(credentialId));

    private static UserPasskeyInfo InfoOf(ClinicPasskey passkey) => new(
        Base64Url.DecodeFromChars(passkey.Added.Credential), Base64Url.DecodeFromChars(passkey.Added.PublicKey),
        passkey.AddedAt.ToDateTimeOffset(),
        // The clinic's log judges the count, in the same breath as it records the sign-in: two at once cannot both be
        // the next one.
        signCount: 0, [.. passkey.Added.Transports], isUserVerified: true, passkey.Added.MayBeCopied,
        isBackedUp: false, attestationObject: [], clientDataJson: []);
}
