using System.Globalization;
using System.Security.Cryptography;
using Incubation.Bench;
using Incubation.Clinic;
using Incubation.Clinic.People;
using Incubation.Model;
using Incubation.Records.People;
using Incubation.Service.Clinic;
using Microsoft.AspNetCore.Identity;

namespace Incubation.Service.People;

/// <summary>A person as ASP.NET Core Identity handles one: only the password is changed through it.</summary>
public sealed class Account(ClinicPerson person)
{
    /// <summary>The person.</summary>
    public ClinicPerson Person { get; } = person;

    /// <summary>The hash of the password, or null where there is none.</summary>
    public string? PasswordHash { get; set; }

    /// <summary>Who changes the password; null where a hash is only made anew with more rounds.</summary>
    public Provenance? ChangedBy { get; set; }
}

/// <summary>
/// Identity's store on the one data file: people come from the clinic's log, hashes from the table beside it.
/// </summary>
public sealed partial class AccountStore(ClinicHost clinic, PeopleStore store) : IUserPasswordStore<Account>
{
    /// <summary>By what authenticators know somebody by: only passkeys ask for an id.</summary>
    public Task<Account?> FindByIdAsync(string userId, CancellationToken cancellationToken) =>
        Task.FromResult(clinic.Log.People.Passkeys.PersonOf(userId) is { } person ? Find(person.Value) : null);

    /// <inheritdoc/>
    public Task<Account?> FindByNameAsync(string normalizedUserName, CancellationToken cancellationToken) =>
        Task.FromResult(Find(normalizedUserName));

    /// <inheritdoc/>
    public Task<IdentityResult> UpdateAsync(Account user, CancellationToken cancellationToken)
    {
        ArgumentNullException.ThrowIfNull(user);
        var owner = user.Person.Id.Value;
        if (user.PasswordHash is not { } hash)
            return Task.FromResult(IdentityResult.Success);
        if (user.ChangedBy is not { } provenance)
        {
            store.Rehash(new Secret(owner, SecretKind.Password, hash));
            return Task.FromResult(IdentityResult.Success);
        }

        var outcome = Outcome.Of(() => store.Record(
            [new ClinicEvent.SecretSet(user.Person.Id, SecretKind.Password)], provenance,
            [new Secret(owner, SecretKind.Password, hash)], [(owner, SecretKind.WelcomeCode)]));
        return Task.FromResult(outcome.Fault is { } fault
            ? IdentityResult.Failed(new IdentityError { Code = nameof(SecretKind.Password), Description = fault })
            : IdentityResult.Success);
    }

    /// <inheritdoc/>
    public Task<string?> GetPasswordHashAsync(Account user, CancellationToken cancellationToken)
    {
        ArgumentNullException.ThrowIfNull(user);
        return Task.FromResult(user.PasswordHash);
    }

    /// <inheritdoc/>
    public Task<bool> HasPasswordAsync(Account user, CancellationToken cancellationToken)
    {
        ArgumentNullException.ThrowIfNull(user);
        return Task.FromResult(user.PasswordHash is not null);
    }

    /// <inheritdoc/>
    public Task SetPasswordHashAsync(Account user, string? passwordHash, CancellationToken cancellationToken)
    {
        ArgumentNullException.ThrowIfNull(user);
        user.PasswordHash = passwordHash;
        return Task.CompletedTask;
    }

    /// <inheritdoc/>
    public Task<string> GetUserIdAsync(Account user, CancellationToken cancellationToken)
    {
        ArgumentNullException.ThrowIfNull(user);
        return Task.FromResult(user.Person.Id.Value);
    }

    /// <inheritdoc/>
    public Task<string?> GetUserNameAsync(Account user, CancellationToken cancellationToken)
    {
        ArgumentNullException.ThrowIfNull(user);
        return Task.FromResult<string?>(user.Person.Id.Value);
    }

    /// <inheritdoc/>
    public Task<string?> GetNormalizedUserNameAsync(Account user, CancellationToken cancellationToken) =>
        GetUserNameAsync(user, cancellationToken);

    /// <inheritdoc/>
    public Task SetNormalizedUserNameAsync(Account user, string? normalizedName,
        CancellationToken cancellationToken) => Task.CompletedTask;

    /// <summary>Names are given by the log alone.</summary>
    public Task SetUserNameAsync(Account user, string? userName, CancellationToken cancellationToken) =>
        throw new NotSupportedException();

    /// <summary>People come and go by events alone.</summary>
    public Task<IdentityResult> CreateAsync(Account user, CancellationToken cancellationToken) =>
        throw new NotSupportedException();

    /// <summary>People come and go by events alone.</summary>
    public Task<IdentityResult> DeleteAsync(Account user, CancellationToken cancellationToken) =>
        throw new NotSupportedException();

    /// <inheritdoc/>
    public void Dispose()
    {
        // Holds nothing of its own.
    }

    private Account? Find(string? name) =>
        TextId.IsValid(name) && clinic.Log.People.Person(new PersonId(name!)) is { } person
            ? new Account(person) { PasswordHash = store.Find(person.Id.Value, SecretKind.Password)?.Hash }
            : null;
}

/// <summary>Names to sign in with: small letters, so that nobody has to remember which were capitals.</summary>
public sealed class SmallLetters : ILookupNormalizer
{
    /// <inheritdoc/>
    public string? NormalizeName(string? name) => name?.Trim().ToLowerInvariant();

    /// <inheritdoc/>
    public string? NormalizeEmail(string? email) => email;
}

/// <summary>
/// Hashes passwords and PINs by PBKDF2-HMAC-SHA256 with 600,000 rounds (OWASP password storage cheat sheet). The rounds
/// stand in the hash, so that they can grow.
/// </summary>
public sealed class SlowHasher : IPasswordHasher<Account>
{
    /// <summary>Rounds of a new hash.</summary>
    public const int Rounds = 600_000;

    private const int SaltBytes = 16;
    private const int HashBytes = 32;
    private const string Form = "pbkdf2-sha256";

    /// <summary>A hash that no secret fits, to take as long over a name that nobody has.</summary>
    public static string Unfitting { get; } = Hash(Tokens.New(), Rounds);

    /// <summary>Hashes a secret.</summary>
    public static string Hash(string secret, int rounds)
    {
        var salt = RandomNumberGenerator.GetBytes(SaltBytes);
        var hash = Rfc2898DeriveBytes.Pbkdf2(secret, salt, rounds, HashAlgorithmName.SHA256, HashBytes);
        return string.Create(CultureInfo.InvariantCulture,
            $"{Form}${rounds}${Convert.ToBase64String(salt)}${Convert.ToBase64String(hash)}");
    }

    /// <summary>Whether a secret fits a hash.</summary>
    public static PasswordVerificationResult Verify(string hash, string secret)
    {
        if (hash.Split('$') is not [Form, var number, var salt, var expected]
            || !int.TryParse(number, NumberStyles.None, CultureInfo.InvariantCulture, out var rounds))
            return PasswordVerificationResult.Failed;
        var wanted = Convert.FromBase64String(expected);
        var made = Rfc2898DeriveBytes.Pbkdf2(secret, Convert.FromBase64String(salt), rounds, HashAlgorithmName.SHA256,
            wanted.Length);
        return !CryptographicOperations.FixedTimeEquals(made, wanted) ? PasswordVerificationResult.Failed
            : rounds < Rounds ? PasswordVerificationResult.SuccessRehashNeeded
            : PasswordVerificationResult.Success;
    }

    /// <inheritdoc/>
    public string HashPassword(Account user, string password) => Hash(password, Rounds);

    /// <inheritdoc/>
    public PasswordVerificationResult VerifyHashedPassword(Account user, string hashedPassword,
        string providedPassword) => Verify(hashedPassword, providedPassword);
}

/// <summary>
/// Passwords by length and by how soon they would be guessed (lists of the most common ones, names, keyboard rows),
/// never by kinds of characters: OWASP ASVS 5.0, 6.2.1, 6.2.4 and 6.2.5.
/// </summary>
public sealed class PasswordRule : IPasswordValidator<Account>
{
    /// <summary>The shortest password.</summary>
    public const int Shortest = 10;

    /// <summary>The longest password: longer ones only cost time.</summary>
    public const int Longest = 128;

    /// <summary>Digits of a PIN.</summary>
    public const int PinDigits = 6;

    /// <summary>Below so many bits a password is on a list, or nearly: a million guesses find it.</summary>
    private const double LeastBits = 20;

    /// <inheritdoc/>
    public Task<IdentityResult> ValidateAsync(UserManager<Account> manager, Account user, string? password)
    {
        ArgumentNullException.ThrowIfNull(user);
        return Task.FromResult(Fault(password, user.Person) is { } sentence
            ? IdentityResult.Failed(new IdentityError { Code = "Password", Description = sentence })
            : IdentityResult.Success);
    }

    /// <summary>What is wrong with a password, or null.</summary>
    public static string? Fault(string? password, ClinicPerson person)
    {
        if (password is null || password.Length < Shortest)
            return Text.Say.Of(PeopleWords.PasswordTooShort, Shortest);
        if (password.Length > Longest)
            return Text.Say.Of(PeopleWords.PasswordTooLong, Longest);
        return Zxcvbn.Zxcvbn.MatchPassword(password,
            [person.Id.Value, person.Name, PeopleWords.ProductName]).Entropy < LeastBits
            ? PeopleWords.PasswordTooCommon : null;
    }

    /// <summary>What is wrong with a PIN, or null.</summary>
    public static string? PinFault(string? pin)
    {
        if (pin is not { Length: PinDigits } || !pin.All(char.IsAsciiDigit))
            return Text.Say.Of(PeopleWords.PinNotDigits, PinDigits);
        var steps = pin.Zip(pin.Skip(1), (one, next) => next - one).Distinct().ToList();
        return steps.Count == 1 && steps[0] is >= -1 and <= 1 || pin.Distinct().Count() < 3
            ? PeopleWords.PinTooCommon : null;
    }
}
