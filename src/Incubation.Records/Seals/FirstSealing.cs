using Incubation.Bench;
using Incubation.Clinic;
using Incubation.Clinic.People;
using Incubation.Records.Clinic;
using Incubation.Records.Log;
using Incubation.Records.Storage;
using Microsoft.EntityFrameworkCore;

namespace Incubation.Records.Seals;

/// <summary>Seals what a program of before, which sealed nothing, kept beside the log.</summary>
public static class FirstSealing
{
    /// <summary>
    /// Seals every secret and sign-in as it stands, once, and records that; wraps the hashes, so that nobody sets a new
    /// password. What the log knows nothing of goes. Throws <see cref="AppendException"/>; nothing is sealed then.
    /// </summary>
    /// <param name="file">The data file.</param>
    /// <param name="clinic">Its clinic; where none has been opened yet there is nothing to seal.</param>
    /// <param name="provenance">When, and through what.</param>
    /// <returns>Whether it was done now.</returns>
    public static bool Bring(DataFile file, ClinicLog clinic, Provenance provenance)
    {
        ArgumentNullException.ThrowIfNull(file);
        ArgumentNullException.ThrowIfNull(clinic);
        if (!clinic.IsOpen || clinic.Secrets.IsSealed)
            return false;
        clinic.Record([new ClinicEvent.RecordSealed()], provenance, context =>
        {
            Secrets(context, file.Seal, clinic.Secrets);
            Sessions(context, file.Seal);
            // Made anew by this program; one that it did not make it does not use.
            context.Snapshots.ExecuteDelete();
        });
        return true;
    }

    private static void Secrets(RecordsContext context, RecordSeal seal, SecretsState known)
    {
        List<SecretRow> rows = [.. context.Secrets.AsNoTracking()];
        context.Secrets.ExecuteDelete();
        foreach (var row in rows)
        {
            if (!known.SetBy.TryGetValue((row.Owner, row.Kind), out var setBy))
                continue;
            var hash = seal.Unwrap(row.Owner, row.Kind, row.Hash) ?? row.Hash;
            var wrapped = row with { Hash = seal.Wrap(row.Owner, row.Kind, hash), SetBy = setBy };
            context.Secrets.Add(wrapped with { Seal = seal.Of(wrapped, HashAt(context, setBy)) });
        }
    }

    private static void Sessions(RecordsContext context, RecordSeal seal)
    {
        var type = ClinicEvents.Registry.FormOf<ClinicEvent.SignedIn>().Name;
        var stream = StreamName.Clinic.ToString();
        List<SessionRow> rows = [.. context.Sessions.AsNoTracking()];
        context.Sessions.ExecuteDelete();
        var taken = new HashSet<long>();
        foreach (var row in rows.OrderByDescending(row => row.Started))
        {
            // Of several sign-ins in one browser the last is kept: no one began with the same row.
            var begun = context.EventHeaders.AsNoTracking().Where(header => header.Stream == stream
                && header.EventType == type && header.Device == row.Name && header.Person == row.Person)
                .OrderByDescending(header => header.Sequence).Select(header => header.Sequence).FirstOrDefault();
            if (begun == 0 || !taken.Add(begun))
                continue;
            var present = row with { Begun = begun };
            context.Sessions.Add(present with { Seal = seal.Of(present, HashAt(context, begun)) });
        }
    }

    private static Digest HashAt(RecordsContext context, long sequence)
    {
        var stream = StreamName.Clinic.ToString();
        return Digest.FromBytes(context.EventHeaders.Find(stream, sequence)!.Hash);
    }
}
