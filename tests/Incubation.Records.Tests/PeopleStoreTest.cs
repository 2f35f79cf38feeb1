using Incubation.Bench;
using Incubation.Clinic;
using Incubation.Clinic.People;
using Incubation.Clinic.TestKit;
using Incubation.Model;
using Incubation.Records.Clinic;
using Incubation.Records.People;
using Xunit;

namespace Incubation.Records.Tests;

/// <summary>Secrets stand beside the stream, and change with it.</summary>
public sealed class PeopleStoreTest : IDisposable
{
    private readonly TempFolder folder = new();
    private readonly DataFile file;
    private readonly ClinicLog log;
    private int commands = 100;

    public PeopleStoreTest()
    {
        file = DataFile.Open(folder.DataFile);
        log = ClinicLog.Open(file);
    }

    public void Dispose()
    {
        file.Dispose();
        folder.Dispose();
    }

    [Fact]
    public void Secrets_ReplacedWithTheirEvent_AndNotWithoutIt()
    {
        log.Tell(PeopleStory.Commands);
        var store = new PeopleStore(file, log);
        var owner = PeopleStory.Aide.Value;

        store.Record([new ClinicEvent.SecretSet(PeopleStory.Aide, SecretKind.Pin)], Provenance(),
            [new Secret(owner, SecretKind.Pin, "h1")]);
        store.Record([new ClinicEvent.SecretSet(PeopleStory.Aide, SecretKind.Pin)], Provenance(),
            [new Secret(owner, SecretKind.Pin, "h2")]);
        store.Record([new ClinicEvent.SecretSet(PersonId.Of("x"), SecretKind.Pin)], Provenance(),
            [new Secret(owner, SecretKind.Pin, "h3")]);

        Assert.Equal("h2", store.Find(owner, SecretKind.Pin)!.Hash);
        Assert.Null(store.Find(owner, SecretKind.Password));
    }

    private Provenance Provenance() => Rows.Provenance(++commands);
}
