using Incubation.Clinic;
using Incubation.Clinic.People;
using Incubation.Model;
using Incubation.Records.Clinic;
using Incubation.Records.People;
using Incubation.Service.Clinic;
using Incubation.Service.Clock;
using Incubation.Service.People;
using Incubation.Service.Settings;

namespace Incubation.Service.Demo;

/// <param name="Id">The name to sign in with.</param>
/// <param name="Name">The name that people read.</param>
/// <param name="Role">"aide", "supervisor" or "administrator".</param>
/// <param name="Password">Not secret: it is shown to whoever opens the demo, which only this machine can.</param>
/// <param name="Pin">Not secret either.</param>
public sealed record DemoPerson(string Id, string Name, string Role, string Password, string Pin)
{
    /// <summary>The role, read; an aide where it is no role.</summary>
    public Role RoleRead => Enum.TryParse<Role>(Role, ignoreCase: true, out var role)
        ? role : Incubation.Clinic.People.Role.Aide;
}

/// <summary>The invented people of a demo. Elsewhere there are none.</summary>
public sealed class DemoPeople(ClinicHost clinic, PeopleStore store, DeviceService devices, BenchClock clock,
    ServerSettings settings)
{
    private readonly Lazy<IReadOnlyList<DemoPerson>> all = new(() => settings.Demo is { } folder
        ? DemoClinic.ReadFile(folder).People ?? [] : []);

    // What is printed on a console needs no slow hash; the first sign-in makes it slow all the same.
    private const int Rounds = 1000;

    private static readonly DeviceId Server = new("server");


    /// <summary>The invented people; none where this is no demo.</summary>
    public IReadOnlyList<DemoPerson> All => all.Value;

    /// <summary>Adds the invented people where nobody is there.</summary>
    public void Seed()
    {
        if (All.Count == 0 || !clinic.Log.People.Persons.IsEmpty)
            return;
        List<ClinicEvent> events = [];
        List<Secret> secrets = [];
        foreach (var person in All)
        {
            var id = new PersonId(person.Id);
            events.Add(new ClinicEvent.PersonAdded(id, person.Name, person.RoleRead));
            events.Add(new ClinicEvent.SecretSet(id, SecretKind.Password));
            events.Add(new ClinicEvent.SecretSet(id, SecretKind.Pin));
            secrets.Add(new Secret(person.Id, SecretKind.Password, SlowHasher.Hash(person.Password, Rounds)));
            secrets.Add(new Secret(person.Id, SecretKind.Pin, SlowHasher.Hash(person.Pin, Rounds)));
        }

        // In a clinic with a past they were there from its beginning.
        var began = clinic.Log.Entries().Last().Provenance.Arrived;
        if (store.Record(events, Provenances.Of(DemoDay.Person, Server, clock) with { At = began, Arrived = began },
            secrets) is ClinicOutcome.Refused refused)
            throw new StartException(ClinicText.Say(refused));
    }

    /// <summary>Makes a browser the tablet of the first bench, as a supervisor would; shows its key.</summary>
    public Outcome EnrolTablet() =>
        All.Count == 0 || clinic.Catalogue.Benches() is not [var bench, ..]
            ? new Outcome(Words.NotAllowed)
            : devices.Enrol(DemoWords.DemoTabletName, DeviceKind.Tablet, bench.Bench, DemoDay.Person, Server);

    /// <summary>Makes the key of the virtual aide; those of earlier starts open nothing any more.</summary>
    public string KeyOfVirtualAide()
    {
        foreach (var old in clinic.Log.People.Keys.Values.Where(key => !key.IsRevoked
            && key.Name == DemoWords.VirtualAide))
            store.Record([new ClinicEvent.KeyRevoked(old.Id)], Provenances.Of(DemoDay.Person, Server, clock),
                remove: [(old.Id.Value, SecretKind.Key)]);
        return devices.MakeKey(DemoWords.VirtualAide, [KeyScope.Bench], null, DemoDay.Person, Server).Shown!;
    }

    /// <summary>How to sign in, for the console.</summary>
    public string Say() => string.Join(
        Environment.NewLine,
        All.Select(person =>
            Text.Say.Of(DemoWords.DemoPersonLine, person.Id, person.Password, person.Pin, RoleText.Of(person.RoleRead)))
            .Prepend(DemoWords.DemoPeopleHead));
}
