using System.Globalization;
using System.Threading.Channels;
using Incubation.Bench;
using Incubation.Model;
using Incubation.Service.Clock;
using Incubation.Service.People;
using Incubation.Service.Text;
using NodaTime.Text;

namespace Incubation.Service.Alarms;

/// <summary>
/// What is sent to the webhook: an alarm that nobody has acknowledged. Nothing in it leads to a patient or a person.
/// </summary>
/// <param name="Bench">Id of the bench.</param>
/// <param name="BenchName">Its name.</param>
/// <param name="Condition">Code of the condition, as in the table of conditions.</param>
/// <param name="Priority">"low", "medium" or "high".</param>
/// <param name="Text">The condition in words.</param>
/// <param name="Place">"slot 3", "the reader", or null.</param>
/// <param name="Since">Since when it stands, ISO 8601 in UTC.</param>
/// <param name="Deadline">What can still be kept until when, or null.</param>
public sealed record WebhookMessage(string Bench, string BenchName, string Condition, string Priority, string Text,
    string? Place, string Since, string? Deadline)
{
    /// <summary>The message of an alarm at a bench.</summary>
    public static WebhookMessage Of(BenchState state, Alarm alarm)
    {
        ArgumentNullException.ThrowIfNull(state);
        ArgumentNullException.ThrowIfNull(alarm);
        var condition = Conditions.Of(alarm.Key.Kind);
        return new WebhookMessage(
            state.Id.Value, state.Name, condition.Code, KebabCase.Of(condition.Priority), condition.Name,
                AlarmText.PlaceOf(state, alarm.Key.Request),
            InstantPattern.ExtendedIso.Format(alarm.From), alarm.Deadline is { } deadline
                ? InstantPattern.ExtendedIso.Format(deadline) : null);
    }
}

/// <summary>
/// Sends alarms on to an address of the clinic's choice, one after the other, each tried a few times. What could not be
/// sent is logged, and shown as an alarm of its own until a message arrives or somebody has seen it.
/// </summary>
public sealed class Webhook : BackgroundService
{
    /// <summary>Messages that may wait; more are given up.</summary>
    public const int QueueLimit = 100;

    /// <summary>Waits before the second try and those after it.</summary>
    public static readonly IReadOnlyList<TimeSpan> Waits = [TimeSpan.FromSeconds(2), TimeSpan.FromSeconds(5),
        TimeSpan.FromSeconds(15)];

    /// <summary>A try that has no answer after so long has failed.</summary>
    public static readonly TimeSpan Patience = TimeSpan.FromSeconds(5);

    private readonly Uri? address;
    private readonly HttpMessageInvoker client;
    private readonly TimeProvider real;
    private readonly BenchClock clock;
    private readonly ILogger<Webhook> logger;
    private readonly Channel<WebhookMessage> queue =
        Channel.CreateBounded<WebhookMessage>(new BoundedChannelOptions(QueueLimit) { SingleReader = true });
    private volatile HostAlarm? alarm;

    /// <summary>A way to an address; to nowhere where it is null.</summary>
    public Webhook(Uri? address, HttpMessageInvoker client, [FromKeyedServices(Sessions.RealTime)] TimeProvider real,
        BenchClock clock, ILogger<Webhook> logger)
    {
        this.address = address;
        this.client = client;
        this.real = real;
        this.clock = clock;
        this.logger = logger;
    }

    /// <summary>Called when <see cref="Alarm"/> has changed.</summary>
    public event Action? Changed;

    /// <summary>Stands since a message could not be sent; null while all is well.</summary>
    public HostAlarm? Alarm => alarm;

    /// <summary>Sends a message soon; does nothing where no address is set.</summary>
    public void Send(WebhookMessage message)
    {
        ArgumentNullException.ThrowIfNull(message);
        if (address is not null && !queue.Writer.TryWrite(message))
            Fail(message, AlarmsWords.WebhookQueueFull);
    }

    /// <inheritdoc/>
    public override void Dispose()
    {
        base.Dispose();
        client.Dispose();
    }

    /// <inheritdoc/>
    protected override async Task ExecuteAsync(CancellationToken stoppingToken)
    {
        try
        {
            await foreach (var message in queue.Reader.ReadAllAsync(stoppingToken))
                await DeliverAsync(message, stoppingToken);
        }
        catch (OperationCanceledException) when (stoppingToken.IsCancellationRequested)
        {
            // The server stops.
        }
    }

    private async Task DeliverAsync(WebhookMessage message, CancellationToken stopping)
    {
        var fault = await TryAsync(message, stopping);
        foreach (var wait in Waits)
        {
            if (fault is null)
                break;
            await Task.Delay(wait, real, stopping);
            fault = await TryAsync(message, stopping);
        }

        if (fault is not null)
            Fail(message, fault);
        else
            Show(null);
    }

    /// <summary>Tries once; the sentence that says why it failed, or null.</summary>
    private async Task<string?> TryAsync(WebhookMessage message, CancellationToken stopping)
    {
        using var limit = new CancellationTokenSource(Patience, real);
        using var either = CancellationTokenSource.CreateLinkedTokenSource(limit.Token, stopping);
        try
        {
            using var request = new HttpRequestMessage(HttpMethod.Post,
                address)
            { Content = JsonContent.Create(message) };
            using var answer = await client.SendAsync(request, either.Token);
            return answer.IsSuccessStatusCode
                ? null
                : Say.Of(AlarmsWords.WebhookRefused, ((int)answer.StatusCode).ToString(CultureInfo.InvariantCulture));
        }
        catch (OperationCanceledException) when (!stopping.IsCancellationRequested)
        {
            return Say.Of(AlarmsWords.WebhookNoAnswer, Patience.TotalSeconds);
        }
        catch (HttpRequestException fault)
        {
            return Say.Of(AlarmsWords.WebhookUnreachable, fault.Message);
        }
    }

    private void Fail(WebhookMessage message, string why)
    {
        logger.LogError("The alarm {Condition} of bench {Bench} could not be sent on: {Why}", message.Condition,
            message.Bench, why);
        var since = clock.Now;
        Show(new HostAlarm(
            new Alarm(HostAlarm.KeyOf(AlarmKind.NotSentOn, since), since, null, null, Acknowledged: false), null,
                AlarmsWords.AlarmNotSentOn, Say.Of(AlarmsWords.AlarmNotSentOnText, why)));
    }

    private void Show(HostAlarm? next)
    {
        if (alarm == next)
            return;
        alarm = next;
        Changed?.Invoke();
    }
}
