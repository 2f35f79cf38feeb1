using System.Globalization;
using System.Net;
using System.Net.Http.Headers;
using System.Net.Security;
using System.Net.Sockets;
using System.Security.Cryptography.X509Certificates;
using Incubation.Bench;
using Incubation.Clinic.Connections;
using Incubation.Clinic.People;
using Incubation.Exchange.Webhooks;
using Incubation.Model;
using Incubation.Records.People;
using Incubation.Service.People;
using Incubation.Service.Text;

namespace Incubation.Service.Connections;

/// <summary>
/// Webhooks by the public specification "Standard Webhooks": a JSON body, signed, under an id that stays. No redirect
/// is followed, no proxy and no cookie used; where a name leads is checked when it is connected to.
/// </summary>
public sealed class WebhookKind(PeopleStore secrets, CertificateEnds certificates,
    [FromKeyedServices(Sessions.RealTime)] TimeProvider real) : IDestinationKind
{
    /// <summary>A try that has no answer after so long has failed.</summary>
    public static readonly TimeSpan Patience = TimeSpan.FromSeconds(10);

    /// <inheritdoc/>
    public bool Is(DestinationWay way) => way is DestinationWay.Webhook;

    /// <inheritdoc/>
    public IDestinationWay Open(Connection connection)
    {
        ArgumentNullException.ThrowIfNull(connection);
        return new Way(connection, ((DestinationWay.Webhook)connection.Destination.Way).Address, secrets,
            certificates, real);
    }

    /// <summary>The type of a message, as its receiver reads it.</summary>
    public static string TypeOf(MessageSubject about) => about switch
    {
        MessageSubject.Result { Kind: NoticeKind.Cancelled or NoticeKind.Reopened } request =>
            "request." + KebabCase.Of(request.Kind),
        MessageSubject.Result result => "result." + KebabCase.Of(result.Kind),
        MessageSubject.Alarm => "alarm.raised",
        _ => "test",
    };

    /// <summary>The body of a message.</summary>
    public static byte[] BodyOf(OutgoingMessage message)
    {
        ArgumentNullException.ThrowIfNull(message);
        return WebhookBody.Write(TypeOf(message.About), message.At, message.About switch
        {
            MessageSubject.Result result =>
            [
                ("request", result.Request.Value), ("revision", result.Revision), ("isLatest", result.IsLatest),
                ("specimen", result.Specimen?.Value), ("assay", result.Assay?.Value), ("bench", result.Bench?.Value),
                ("batch", result.Batch),
            ],
            MessageSubject.Alarm { Said: var said } alarm =>
            [
                ("bench", said.Bench.Value), ("benchName", alarm.BenchName),
                ("condition", Conditions.Of(said.Kind).Code),
                ("priority", KebabCase.Of(Conditions.Of(said.Kind).Priority)),
                ("text", Conditions.Of(said.Kind).Name), ("place", said.Place), ("since", said.Since),
                ("deadline", said.Deadline),
            ],
            _ => Array.Empty<(string, object?)>(),
        });
    }

    private sealed class Way : IDestinationWay
    {
        /// <summary>What an answer says beyond this is not read.</summary>
        private const int MostDrained = 16 * 1024;

        private readonly Connection connection;
        private readonly Uri address;
        private readonly PeopleStore secrets;
        private readonly CertificateEnds certificates;
        private readonly TimeProvider real;
        private readonly HttpMessageInvoker client;
        private WebhookSecrets? known;

        public Way(Connection connection, string address, PeopleStore secrets, CertificateEnds certificates,
            TimeProvider real)
        {
            (this.connection, this.address, this.secrets) = (connection, new Uri(address), secrets);
            (this.certificates, this.real) = (certificates, real);
            client = new HttpMessageInvoker(new SocketsHttpHandler
            {
                AllowAutoRedirect = false,
                UseProxy = false,
                UseCookies = false,
                ConnectTimeout = Patience,
                PooledConnectionLifetime = TimeSpan.FromMinutes(5),
                MaxResponseHeadersLength = 16,
                MaxResponseDrainSize = MostDrained,
                ResponseDrainTimeout = TimeSpan.FromSeconds(1),
                ConnectCallback = ConnectAsync,
                SslOptions = new SslClientAuthenticationOptions { RemoteCertificateValidationCallback = Look },
            });
        }

        public void Dispose() => client.Dispose();

        public async Task<DeliveryOutcome> SendAsync(OutgoingMessage message, CancellationToken stopping)
        {
            if ((known ??= Secrets()) is not { } sealing)
                return new DeliveryOutcome.NotNow(ConnectionsWords.NoSecret);
            using var limit = new CancellationTokenSource(Patience, real);
            using var either = CancellationTokenSource.CreateLinkedTokenSource(limit.Token, stopping);
            try
            {
                using var request = RequestOf(message, sealing);
                using var answer = await client.SendAsync(request, either.Token);
                return OutcomeOf(answer);
            }
            catch (OperationCanceledException) when (!stopping.IsCancellationRequested)
            {
                return new DeliveryOutcome.NotNow(Say.Of(ConnectionsWords.NoAnswer, Patience.TotalSeconds));
            }
            catch (HttpRequestException fault)
            {
                return new DeliveryOutcome.NotNow(fault.InnerException is NotReachedException refused
                    ? refused.Message : Say.Of(ConnectionsWords.Unreachable, fault.Message));
            }
            catch (IOException fault)
            {
                return new DeliveryOutcome.NotNow(Say.Of(ConnectionsWords.Unreachable, fault.Message));
            }
        }

        /// <summary>Notes when a certificate ends; whether it counts stays what the system says of it.</summary>
        private bool Look(object sender, X509Certificate? shown, X509Chain? chain, SslPolicyErrors faults)
        {
            if (shown is X509Certificate2 certificate)
                certificates.Note(connection, certificate);
            return faults == SslPolicyErrors.None;
        }

        private WebhookSecrets? Secrets() =>
            WebhookSecrets.Read(secrets.Find(connection.Id.Value, SecretKind.Signing)?.Hash);

        private HttpRequestMessage RequestOf(OutgoingMessage message, WebhookSecrets sealing)
        {
            var body = BodyOf(message);
            var timestamp = real.GetUtcNow().ToUnixTimeSeconds();
            var request = new HttpRequestMessage(HttpMethod.Post, address) { Content = new ByteArrayContent(body) };
            request.Content.Headers.ContentType = new MediaTypeHeaderValue("application/json");
            request.Headers.Add("webhook-id", message.Id);
            request.Headers.Add("webhook-timestamp", timestamp.ToString(CultureInfo.InvariantCulture));
            request.Headers.Add("webhook-signature", sealing.Sign(message.Id, timestamp, body));
            request.Headers.UserAgent.Add(new ProductInfoHeaderValue("incubation", "1"));
            return request;
        }

        private static DeliveryOutcome OutcomeOf(HttpResponseMessage answer)
        {
            var status = (int)answer.StatusCode;
            var words = Say.Of(status is >= 300 and < 400 ? ConnectionsWords.Redirected : ConnectionsWords.Answered,
                status.ToString(CultureInfo.InvariantCulture));
            return WebhookAnswer.Of(status) switch
            {
                WebhookVerdict.Taken => new DeliveryOutcome.Taken(words),
                WebhookVerdict.Refused => new DeliveryOutcome.Refused(words),
                WebhookVerdict.Gone => new DeliveryOutcome.Gone(words),
                _ => new DeliveryOutcome.NotNow(words, WebhookAnswer.WaitOf(
                    answer.Headers.TryGetValues("Retry-After", out var values) ? values.FirstOrDefault() : null)),
            };
        }

        /// <summary>Connects to what the name leads to now, where that is allowed; to nothing else.</summary>
        private async ValueTask<Stream> ConnectAsync(SocketsHttpConnectionContext context,
            CancellationToken cancellation)
        {
            var (host, port) = (context.DnsEndPoint.Host, context.DnsEndPoint.Port);
            var all = IPAddress.TryParse(host, out var literal) ? [literal]
                : await Dns.GetHostAddressesAsync(host, cancellation);
            var isSecret = address.Scheme == Uri.UriSchemeHttps;
            var allowed = all.Where(one => ReachRule.Allows(one, connection.Destination.Named, isSecret)).ToArray();
            if (allowed.Length == 0)
                throw new NotReachedException(Say.Of(isSecret || all.Any(ReachRule.IsNear)
                    ? ConnectionsWords.NearAddress : ConnectionsWords.NotSecret, host));
            var socket = new Socket(SocketType.Stream, ProtocolType.Tcp) { NoDelay = true };
            try
            {
                await socket.ConnectAsync(allowed, port, cancellation);
                return new NetworkStream(socket, ownsSocket: true);
            }
            catch
            {
                socket.Dispose();
                throw;
            }
        }
    }

    /// <summary>Where a name leads is not connected to.</summary>
    private sealed class NotReachedException(string sentence) : Exception(sentence);
}
