using Incubation.Clinic;
using Incubation.Clinic.People;
using Incubation.Clinic.Record;
using Incubation.Model;
using Incubation.Records.Clinic;
using Incubation.Records.People;
using Incubation.Service.Clinic;
using Incubation.Service.Clock;
using Incubation.Service.Text;
using NodaTime;

namespace Incubation.Service.People;

/// <summary>What is asked for at the first start.</summary>
/// <param name="Code">The code from the console.</param>
/// <param name="Clinic">The clinic's name; not asked for where there is one already.</param>
/// <param name="Zone">IANA name of its time zone.</param>
/// <param name="Months">How long closed batches are kept.</param>
/// <param name="Id">The first administrator's name to sign in with.</param>
/// <param name="Name">The name that people read.</param>
/// <param name="Password">The password.</param>
public sealed record SetUpForm(string? Code, string? Clinic, string? Zone, int? Months, string? Id, string? Name,
    string? Password);

/// <summary>
/// The first start: there is no account yet, and none by default. A code that only the console shows opens the set-up
/// of the clinic and its first administrator; used, it opens nothing any more.
/// </summary>
public sealed class SetUpService(ClinicHost clinic, PeopleStore store, Sessions sessions, BackOff backOff,
    BenchClock clock)
{
    /// <summary>
    /// The usual retention in months, which is the least (42 CFR 493.1105); local codes may ask for more.
    /// </summary>
    public const int UsualMonths = RetentionRules.LeastMonths;

    private const string Guessed = "set-up";
    private readonly Lock once = new();

    /// <summary>Whether somebody may look after people: without that, set-up is all that is open.</summary>
    public bool IsDone => clinic.Log.People.HasAdministrator;

    /// <summary>Whether the clinic's name and zone are known already.</summary>
    public bool HasClinic => clinic.Log.IsOpen;

    /// <summary>The code of this start, for the console alone.</summary>
    public string Code { get; } = Tokens.NewCode();

    /// <summary>Sets up the clinic and its first administrator, and signs the administrator in.</summary>
    /// <returns>What is wrong, or the token of the sign-in.</returns>
    public (IReadOnlyList<FormFault> Faults, string? Token) SetUp(SetUpForm form, string address)
    {
        var guess = new BackOff.Guess(Guessed, "address " + address);
        lock (once)
        {
            if (IsDone)
                return ([new FormFault("", PeopleWords.SetUpDone)], null);
            if (backOff.MustWait(guess) is { } sentence)
                return ([new FormFault("", sentence)], null);
            if (!Tokens.Fits(Tokens.Normal(form.Code), Tokens.Hash(Code)))
                return ([new FormFault(nameof(SetUpForm.Code), PeopleWords.SetUpCodeWrong)], null);
            backOff.Right(guess);
            if (Faults(form) is { Count: > 0 } faults)
                return (faults, null);
            if (Outcome.Of(() => Record(form)).Fault is { } refused)
                return ([new FormFault("", refused)], null);
        }

        clinic.Reread();
        return ([], sessions.Begin(new PersonId(Id(form)), SignInWay.Password, null, address));
    }

    private static string Id(SetUpForm form) => form.Id?.Trim().ToLowerInvariant() ?? "";

    private List<FormFault> Faults(SetUpForm form)
    {
        var faults = new List<FormFault>();
        if (!HasClinic && !Bounds.IsName(form.Clinic?.Trim()))
            faults.Add(new(nameof(SetUpForm.Clinic), PeopleWords.SetUpClinicFault));
        if (!HasClinic && DateTimeZoneProviders.Tzdb.GetZoneOrNull(form.Zone ?? "") is null)
            faults.Add(new(nameof(SetUpForm.Zone), Say.Of(Words.ClinicUnknownTimeZone, form.Zone)));
        if (form.Months is not (>= RetentionRules.LeastMonths and <= PeopleState.MaxMonths))
            faults.Add(new(nameof(SetUpForm.Months), Words.SetUpMonthsFault));
        if (!PeopleService.IsName(Id(form)))
            faults.Add(new(nameof(SetUpForm.Id), PeopleWords.PersonIdFault));
        if (!Bounds.IsName(form.Name?.Trim()))
            faults.Add(new(nameof(SetUpForm.Name), PeopleWords.PersonNameFault));
        else if (faults.Count == 0 && PasswordRule.Fault(form.Password, Administrator(form)) is { } fault)
            faults.Add(new(nameof(SetUpForm.Password), fault));
        return faults;
    }

    private static ClinicPerson Administrator(SetUpForm form) =>
        new(new PersonId(Id(form)), form.Name!.Trim(), Role.Administrator, true, true, false);

    private ClinicOutcome Record(SetUpForm form)
    {
        var person = Administrator(form);
        List<ClinicEvent> events = HasClinic ? [] : [new ClinicEvent.ClinicOpened(form.Clinic!.Trim(), form.Zone!)];
        events.Add(new ClinicEvent.RetentionSet(form.Months!.Value));
        events.Add(new ClinicEvent.PersonAdded(person.Id, person.Name, person.Role));
        events.Add(new ClinicEvent.SecretSet(person.Id, SecretKind.Password));
        var password = new Secret(person.Id.Value, SecretKind.Password,
            SlowHasher.Hash(form.Password!, SlowHasher.Rounds));
        return store.Record(events, Provenances.Of(person.Id, new DeviceId("browser"), clock), [password]);
    }
}
