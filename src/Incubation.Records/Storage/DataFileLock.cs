namespace Incubation.Records.Storage;

/// <summary>
/// Keeps a second process away from a data file: a file beside it that this process holds open, alone. The operating
/// system lets go of it when the process ends, however it ends; the empty file stays behind and means nothing.
/// </summary>
internal sealed class DataFileLock : IDisposable
{
    /// <summary>EWOULDBLOCK of Linux and macOS, and the sharing violation of Windows.</summary>
    private static readonly int[] HeldByAnother = [11, 35, unchecked((int)0x80070020)];

    /// <summary>What its name ends with, after the data file's.</summary>
    public const string Ending = ".lock";

    private readonly FileStream stream;

    private DataFileLock(FileStream stream) => this.stream = stream;

    /// <summary>
    /// Takes the lock of a data file, making the folder where there is none; throws <see cref="DataFileException"/>.
    /// </summary>
    public static DataFileLock Take(string dataFile)
    {
        try
        {
            Directory.CreateDirectory(Path.GetDirectoryName(dataFile)!);
            return new DataFileLock(new FileStream(
                dataFile + Ending, FileMode.OpenOrCreate, FileAccess.ReadWrite, FileShare.None, bufferSize: 1));
        }
        catch (IOException e) when (HeldByAnother.Contains(e.HResult))
        {
            throw new DataFileException(DataFileProblem.InUse, dataFile, Words.FileInUse, null, e);
        }
        catch (Exception e) when (e is IOException or UnauthorizedAccessException)
        {
            throw new DataFileException(DataFileProblem.CannotOpen, dataFile, Words.FileCannotOpen, e.Message, e);
        }
    }

    public void Dispose() => stream.Dispose();
}
