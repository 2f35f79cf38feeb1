using System.Collections.Concurrent;
using System.Diagnostics;
using System.Globalization;
using System.Net;
using System.Net.Sockets;
using System.Text;

namespace Incubation.TestKit;

/// <summary>
/// A program in a process of its own: what it prints is kept, and it can be waited for, stopped and killed. What nobody
/// has disposed of by the end of the process that started it is killed then.
/// </summary>
public sealed class ProgramProcess : IDisposable
{
    private static readonly TimeSpan Pause = TimeSpan.FromMilliseconds(100);
    private static readonly ConcurrentDictionary<ProgramProcess, bool> Undisposed = [];
    private const int LeastPort = 20_000;
    /// <summary>Linux gives ports from here on (net.ipv4.ip_local_port_range), other systems higher ones.</summary>
    private const int LeastGivenPort = 32_768;
    private readonly StringBuilder output = new();

    static ProgramProcess() => AppDomain.CurrentDomain.ProcessExit += (_, _) =>
    {
        foreach (var left in Undisposed.Keys)
            left.Dispose();
    };

    /// <summary>Starts a program.</summary>
    /// <param name="dll">The program.</param>
    /// <param name="arguments">Its command line.</param>
    /// <param name="prepare">Sets what else the process needs: its folder, its environment.</param>
    public ProgramProcess(string dll, IEnumerable<string> arguments, Action<ProcessStartInfo>? prepare = null)
    {
        var start = new ProcessStartInfo("dotnet", [dll, .. arguments])
        {
            RedirectStandardOutput = true,
            RedirectStandardError = true
        };
        // A test host's own settings are not the program's.
        start.Environment.Remove("ASPNETCORE_URLS");
        prepare?.Invoke(start);
        Process = new Process { StartInfo = start, EnableRaisingEvents = true };
        Process.OutputDataReceived += (_, line) => Keep(line.Data);
        Process.ErrorDataReceived += (_, line) => Keep(line.Data);
        Process.Start();
        Undisposed[this] = true;
        Process.BeginOutputReadLine();
        Process.BeginErrorReadLine();
    }

    /// <summary>Programs that this process has started and nobody has disposed of.</summary>
    public static IEnumerable<ProgramProcess> All => Undisposed.Keys;

    /// <summary>The process.</summary>
    public Process Process { get; }

    /// <summary>Everything that the program has printed.</summary>
    public string Output
    {
        get
        {
            lock (output)
                return output.ToString();
        }
    }

    /// <summary>
    /// A port of this machine's own address that nobody listens on, below those that systems give to whoever asks for
    /// any: until the program that it is for listens there, no other test's line takes it.
    /// </summary>
    public static int FreePort()
    {
        while (true)
        {
            var port = Random.Shared.Next(LeastPort, LeastGivenPort);
            using var listener = new TcpListener(IPAddress.Loopback, port);
            try
            {
                listener.Start();
                return port;
            }
            catch (SocketException fault) when (fault.SocketErrorCode is SocketError.AddressAlreadyInUse
                or SocketError.AccessDenied)
            {
                // Another's: the next one, then.
            }
        }
    }

    /// <summary>
    /// Asks until there is an answer: null, or that nobody listens yet, is none. Throws where the program has ended, or
    /// has not answered in that time.
    /// </summary>
    /// <param name="ask">Asks once.</param>
    /// <param name="patience">How long to ask.</param>
    /// <param name="cancel">Ends the wait.</param>
    public async Task<T> UntilAnsweredAsync<T>(Func<CancellationToken, Task<T?>> ask, TimeSpan patience,
        CancellationToken cancel)
        where T : struct
    {
        using var limit = CancellationTokenSource.CreateLinkedTokenSource(cancel);
        limit.CancelAfter(patience);
        using var pause = new PeriodicTimer(Pause);
        try
        {
            while (await pause.WaitForNextTickAsync(limit.Token))
            {
                if (Process.HasExited)
                    throw new InvalidOperationException("The program ended at its start:\n" + Output);
                try
                {
                    if (await ask(limit.Token) is { } answer)
                        return answer;
                }
                catch (HttpRequestException)
                {
                    // Not listening yet: asked again at the next tick, until the limit.
                }
                catch (OperationCanceledException) when (!limit.IsCancellationRequested)
                {
                    // The client's own patience, on a busy machine: asked again too.
                }
            }
        }
        catch (OperationCanceledException) when (!cancel.IsCancellationRequested)
        {
            throw new TimeoutException($"The program has not answered within {patience}:\n{Output}");
        }

        throw new InvalidOperationException("Never reached.");
    }

    /// <summary>Asks the program to stop, as a service manager does.</summary>
    public void Terminate()
    {
        using var kill = Process.Start("kill", ["-TERM", Process.Id.ToString(CultureInfo.InvariantCulture)]);
    }

    /// <summary>kill -9, and waits for the end: no chance to tidy up.</summary>
    public async Task KillAsync(CancellationToken cancel)
    {
        Process.Kill(entireProcessTree: true);
        await Process.WaitForExitAsync(cancel);
    }

    /// <summary>Kills the program where it still runs.</summary>
    public void Dispose()
    {
        if (!Undisposed.ContainsKey(this))
            return;
        if (!Process.HasExited)
            Process.Kill(entireProcessTree: true);
        Process.WaitForExit();
        Process.Dispose();
        Undisposed.TryRemove(this, out _);
    }

    private void Keep(string? line)
    {
        lock (output)
            output.AppendLine(line);
    }
}
