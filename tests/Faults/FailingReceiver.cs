using System.Globalization;
using System.Net;
using System.Security.Cryptography;
using System.Text;
using System.Text.Json;
using Incubation.TestKit;

namespace Incubation.Faults;

/// <summary>
/// A receiver of webhooks in this process. It honours ids: of what comes once more it keeps nothing but the count. Now
/// and then it answers 503 and takes nothing, or takes a message and breaks off before its answer.
/// </summary>
internal sealed class FailingReceiver : IAsyncDisposable
{
    private readonly HttpListener listener = new();
    private readonly SeededRandom random;
    private readonly Dictionary<string, string> known = [];
    private readonly List<(string Request, Message Message)> taken = [];
    private readonly List<string> faults = [];
    private readonly Lock gate = new();
    private readonly Task runs;

    public FailingReceiver(SeededRandom random)
    {
        this.random = random;
        Key = RandomNumberGenerator.GetBytes(32);
        Address = new Uri($"http://127.0.0.1:{ProgramProcess.FreePort().ToString(CultureInfo.InvariantCulture)}/in/");
        listener.Prefixes.Add(Address.ToString());
        listener.Start();
        runs = ServeAsync();
    }

    /// <summary>A message, as its receiver reads it.</summary>
    public sealed record Message(string Kind, int Revision)
    {
        /// <inheritdoc/>
        public override string ToString() => string.Create(CultureInfo.InvariantCulture, $"{Kind}:{Revision}");
    }

    /// <summary>What its messages are signed with.</summary>
    public byte[] Key { get; }

    /// <summary>Where it listens.</summary>
    public Uri Address { get; }

    /// <summary>Whether it takes whatever comes.</summary>
    public bool IsPatient { get; set; }

    /// <summary>How many messages came that had come before.</summary>
    public int Repeats { get; private set; }

    /// <summary>What was wrong with messages.</summary>
    public IReadOnlyList<string> Faults
    {
        get
        {
            lock (gate)
                return [.. faults];
        }
    }

    /// <summary>What came of a request, each message once, in the order in which they came first.</summary>
    public IReadOnlyList<Message> Of(string request)
    {
        lock (gate)
            return [.. taken.Where(one => one.Request == request).Select(one => one.Message)];
    }

    /// <inheritdoc/>
    public async ValueTask DisposeAsync()
    {
        listener.Stop();
        await runs;
        listener.Close();
    }

    private async Task ServeAsync()
    {
        while (listener.IsListening)
        {
            try
            {
                await TakeAsync(await listener.GetContextAsync());
            }
            catch (Exception gone) when (gone is HttpListenerException or ObjectDisposedException or IOException)
            {
                // The sender was killed, or this is over.
            }
        }
    }

    private async Task TakeAsync(HttpListenerContext context)
    {
        using var reader = new StreamReader(context.Request.InputStream, Encoding.UTF8);
        var body = await reader.ReadToEndAsync();
        if (body.Length < context.Request.ContentLength64)
        {
            context.Response.Abort();
            return;
        }

        var mood = IsPatient ? 0 : random.Between(1, 12);
        if (mood == 1)
        {
            (context.Response.StatusCode, context.Response.Headers["Retry-After"]) = (503, "1");
            context.Response.Close();
            return;
        }

        lock (gate)
            Take(context.Request.Headers, body);
        if (mood == 2)
        {
            context.Response.Abort();
            return;
        }

        context.Response.StatusCode = 204;
        context.Response.Close();
    }

    private void Take(System.Collections.Specialized.NameValueCollection headers, string body)
    {
        var id = headers["webhook-id"] ?? "";
        // By the specification "Standard Webhooks" (standardwebhooks.com), once more and apart from the program.
        var signature = "v1," + Convert.ToBase64String(HMACSHA256.HashData(Key,
            Encoding.UTF8.GetBytes($"{id}.{headers["webhook-timestamp"]}.{body}")));
        if (!(headers["webhook-signature"] ?? "").Split(' ').Contains(signature))
            faults.Add($"{id}: its signature does not hold");
        using var json = JsonDocument.Parse(body);
        var data = json.RootElement.GetProperty("data");
        var (request, message) = (data.GetProperty("request").GetString()!, new Message(
            json.RootElement.GetProperty("type").GetString()!, data.GetProperty("revision").GetInt32()));
        var text = $"{request} {message}";
        if (!known.TryAdd(id, text))
        {
            Repeats++;
            if (known[id] != text)
                faults.Add($"{id}: came as {text} and as {known[id]}");
            return;
        }

        taken.Add((request, message));
    }
}
