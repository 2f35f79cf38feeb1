using System.Net;
using System.Text.Json;
using Incubation.TestKit;

namespace Incubation.Faults;

/// <summary>One start of the real program on a file that outlives it, up to its kill with signal 9.</summary>
internal sealed class KilledProgram : IDisposable
{
    private readonly ProgramProcess program;

    private KilledProgram(ProgramProcess program, Uri address)
    {
        this.program = program;
        Client = new HttpClient { BaseAddress = address };
    }

    /// <summary>Who speaks with it.</summary>
    public HttpClient Client { get; }

    /// <summary>Starts the program with the demo's clinic, and waits until it answers.</summary>
    /// <param name="data">Its data file.</param>
    /// <param name="address">Where it listens.</param>
    /// <param name="cancel">Ends the waiting.</param>
    public static async Task<KilledProgram> StartAsync(string data, Uri address, CancellationToken cancel)
    {
        var started = new KilledProgram(new ProgramProcess(KilledLog.Dll,
            ["--demo", Path.Combine(KilledLog.Checkout, "demo"), "--data", data, "--urls", address.ToString()],
            start => start.WorkingDirectory = Path.GetDirectoryName(data)!), address);
        try
        {
            await started.program.UntilAnsweredAsync<HttpStatusCode>(async ask =>
            {
                using var answer = await started.Client.GetAsync(new Uri("/sign-in", UriKind.Relative), ask);
                return answer.IsSuccessStatusCode ? answer.StatusCode : null;
            }, Patience.Usual, cancel);
            return started;
        }
        catch
        {
            started.Dispose();
            throw;
        }
    }

    /// <summary>Signs the client in as the supervisor.</summary>
    public async Task SignInAsync(CancellationToken cancel) =>
        (await SignIn.ByPasswordAsync(Client, "ines", SignIn.Passwords["ines"], cancel)).Dispose();

    /// <summary>
    /// Kills the program while people are at work: after so many more answers, at a random part of the next one's way,
    /// or when the first of them can go no further.
    /// </summary>
    /// <param name="log">Counts the answers.</param>
    /// <param name="answers">So many more.</param>
    /// <param name="random">Draws the part of the way.</param>
    /// <param name="work">Begins the people's work; each ends when the program is gone or the token says so.</param>
    /// <param name="cancel">Ends the run.</param>
    public async Task KillAmidAsync(KilledLog log, int answers, SeededRandom random,
        Func<CancellationToken, Task[]> work, CancellationToken cancel)
    {
        using var stopping = CancellationTokenSource.CreateLinkedTokenSource(cancel);
        var people = work(stopping.Token);
        var enough = log.Acknowledged.Count + answers;
        using (var pause = new PeriodicTimer(TimeSpan.FromMilliseconds(1)))
            while (log.Acknowledged.Count < enough && !people[0].IsCompleted
                && await pause.WaitForNextTickAsync(cancel))
            {
            }

        await Task.Delay(random.Between(0, 12), cancel);
        await KillAsync(cancel);
        await stopping.CancelAsync();
        await Task.WhenAll(people);
    }

    /// <summary>What somebody does until the program is gone; what was on its way then is nobody's promise.</summary>
    public static async Task UntilGoneAsync(Func<Task> work)
    {
        try
        {
            await work();
        }
        catch (Exception gone)
            when (gone is HttpRequestException or IOException or OperationCanceledException or JsonException)
        {
            // The program was killed.
        }
    }

    /// <summary>Kills the program while nobody is at work.</summary>
    public Task KillAsync(CancellationToken cancel) => program.KillAsync(cancel);

    /// <inheritdoc/>
    public void Dispose()
    {
        Client.Dispose();
        program.Dispose();
    }
}
