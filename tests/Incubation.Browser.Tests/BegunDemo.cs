using System.Collections.Concurrent;
using System.Text.Json;

namespace Incubation.Browser.Tests;

/// <summary>
/// A demo that was begun and ended again: its folder, made by the real server once for all tests that go on from it.
/// Each gets a copy, so that none sees what another did.
/// </summary>
internal sealed class BegunDemo
{
    private static readonly ConcurrentDictionary<string, Lazy<Task<BegunDemo>>> Made = new();
    private readonly string folder;
    private readonly DateTimeOffset ended;

    private BegunDemo(string folder, DateTimeOffset ended)
    {
        this.folder = folder;
        this.ended = ended;
    }

    /// <summary>The demo with these requests, or with the whole morning; with an invented month behind it.</summary>
    public static Task<BegunDemo> Of(string[]? requests, bool month) =>
        Made.GetOrAdd((requests is null ? "*" : string.Join(' ', requests)) + (month ? " month" : ""),
            _ => new Lazy<Task<BegunDemo>>(() => Task.Run(() => Make(requests, month)))).Value;

    /// <summary>
    /// Puts a copy into an empty folder. Its clock goes on from where this demo ended, however long ago that is.
    /// </summary>
    /// <param name="empty">The folder.</param>
    /// <param name="later">How much later its clock shows.</param>
    public void CopyTo(string empty, TimeSpan later)
    {
        foreach (var file in Directory.GetFiles(folder, "*", SearchOption.AllDirectories))
        {
            var copy = Path.Combine(empty, Path.GetRelativePath(folder, file));
            Directory.CreateDirectory(Path.GetDirectoryName(copy)!);
            File.Copy(file, copy);
        }

        File.WriteAllText(Path.Combine(empty, ServerProcess.ClockFile), JsonSerializer.Serialize(
            new { Real = TimeProvider.System.GetUtcNow(), Server = ended + later, Rate = 1.0 }));
    }

    /// <summary>Deletes every folder: after the last test.</summary>
    public static void DeleteAll()
    {
        foreach (var made in Made.Values.Where(one => one.IsValueCreated && one.Value.IsCompletedSuccessfully))
            Directory.Delete(made.Value.Result.folder, recursive: true);
    }

    private static async Task<BegunDemo> Make(string[]? requests, bool month)
    {
        // For every test that waits for it: none of them ends it.
        var cancel = CancellationToken.None;
        var folder = Directory.CreateTempSubdirectory("incubation-begun-").FullName;
        try
        {
            await using var server =
                await ServerProcess.StartDemo(cancel, requests, month ? [ServerProcess.Month] : []);
            await server.Kill(cancel);
            var ended = TimeProvider.System.GetUtcNow();
            new BegunDemo(server.Folder, ended).CopyTo(folder, TimeSpan.Zero);
            return new BegunDemo(folder, ended);
        }
        catch
        {
            Directory.Delete(folder, recursive: true);
            throw;
        }
    }
}
