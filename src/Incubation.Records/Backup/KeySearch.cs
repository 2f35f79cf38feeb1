using System.Data.Common;
using Incubation.Records.Log;
using Incubation.Records.Storage;

namespace Incubation.Records.Backup;

/// <summary>Whether the signatures of a record were held against its key.</summary>
public enum SignatureCheck
{
    /// <summary>They were.</summary>
    Checked,

    /// <summary>The key was not there.</summary>
    NoKey,

    /// <summary>The key that was there is another record's.</summary>
    OtherKey,

    /// <summary>The record bears no signatures: a program wrote it that signed nothing.</summary>
    Unsigned,
}

/// <summary>Finds the key of a record where several may be.</summary>
public static class KeySearch
{
    /// <summary>
    /// The first of the files that holds the key by whose name a data file is signed; where none does, the first that
    /// is there; null where none is. Throws <see cref="DataFileException"/> for one that holds no key.
    /// </summary>
    /// <param name="dataFile">The data file, or a backup.</param>
    /// <param name="candidates">Where the key may lie, the likeliest first.</param>
    public static string? Choose(string dataFile, IEnumerable<string> candidates)
    {
        List<string> there = [.. candidates.Where(File.Exists)];
        var signer = SignerOf(dataFile);
        return there.FirstOrDefault(path => SigningKey.Find(path)?.Name == signer) ?? there.FirstOrDefault();
    }

    /// <summary>
    /// Name of the key by which a data file is signed; null where it cannot be read, or is not signed.
    /// </summary>
    public static string? SignerOf(string dataFile)
    {
        try
        {
            if (!File.Exists(dataFile))
                return null;
            StorageEngine.Present.RefuseForeign(dataFile);
            using var connection = StorageEngine.Present.OpenForReading(dataFile,
                still: !StorageEngine.Present.MayBeOpen(dataFile));
            return SignedHeads.Read(connection) is { KeyName: { Length: > 0 } name } ? name : null;
        }
        catch (Exception e) when (e is DataFileException or DbException)
        {
            // Whoever opens it next says what is wrong with it.
            return null;
        }
    }

    internal static SignatureCheck Of(string? signer, SigningKey? key) =>
        signer is null ? SignatureCheck.Unsigned : key is null ? SignatureCheck.NoKey
        : key.Name == signer ? SignatureCheck.Checked : SignatureCheck.OtherKey;
}
