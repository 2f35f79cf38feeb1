using System.Buffers.Binary;
using System.Security.Cryptography;
using System.Text;
using Incubation.Clinic;
using Incubation.Clinic.Connections;
using Incubation.Model;
using Incubation.Records.Connections;
using Incubation.Service.Clinic;
using NodaTime;

namespace Incubation.Service.Connections;

/// <summary>What goes to a destination, whatever its kind: no more than it may get.</summary>
/// <param name="Id">Names it; the same whenever it is sent again.</param>
/// <param name="At">When what it tells of was recorded.</param>
/// <param name="About">What it tells.</param>
public sealed record OutgoingMessage(string Id, Instant At, MessageSubject About);

/// <summary>What a message tells.</summary>
public abstract record MessageSubject
{
    private MessageSubject() { }

    /// <summary>
    /// Of a patient's result, by identifiers alone. What a destination may not get is null.
    /// </summary>
    /// <param name="Kind">What is told.</param>
    /// <param name="Request">The request.</param>
    /// <param name="Revision">Which of the notices about it, from 1.</param>
    /// <param name="IsLatest">Whether it is the last of them: where not, another follows.</param>
    /// <param name="Specimen">The specimen.</param>
    /// <param name="Assay">The assay.</param>
    /// <param name="Bench">The bench.</param>
    /// <param name="Batch">The batch.</param>
    public sealed record Result(NoticeKind Kind, RequestId Request, int Revision, bool IsLatest, SpecimenId? Specimen,
        AssayCode? Assay, BenchId? Bench, int? Batch) : MessageSubject;

    /// <summary>Of an alarm that nobody has seen; nothing in it leads to a patient.</summary>
    /// <param name="BenchName">The bench's name.</param>
    /// <param name="Said">The alarm.</param>
    public sealed record Alarm(string BenchName, ClinicEvent.AlarmNoticed Said) : MessageSubject;

    /// <summary>Nothing: whether it arrives.</summary>
    public sealed record Test : MessageSubject;
}

/// <summary>
/// Makes messages of notices. What a destination gets is decided here, by <see cref="Destination.Gets"/>, and nowhere
/// else.
/// </summary>
public sealed class OutgoingMessages(OutboxStore store, RequestFacts facts, ClinicHost clinic)
{
    /// <summary>The message of a notice; null where it is gone with its batch.</summary>
    public OutgoingMessage? Of(Connection connection, NoticeId id)
    {
        ArgumentNullException.ThrowIfNull(connection);
        ArgumentNullException.ThrowIfNull(id);
        if (store.Find(id) is not { } notice)
            return null;
        MessageSubject? about = id.Request is { } request ? OfResult(connection.Destination, notice, request)
            : store.AlarmOf(id) is { } said ? new MessageSubject.Alarm(NameOf(said.Bench), said) : null;
        return about is null ? null : new OutgoingMessage(NameFor(connection.Id, notice), notice.At, about);
    }

    /// <summary>A message that says nothing.</summary>
    public static OutgoingMessage Test(Instant now) => new("msg_test_" + Guid.CreateVersion7().ToString("N"), now,
        new MessageSubject.Test());

    private MessageSubject.Result OfResult(Destination to, Notice notice, RequestId request)
    {
        var known = to.Gets(NoticeField.Specimen) || to.Gets(NoticeField.Assay)
            ? facts.Of(notice.Bench, notice.Batch, request) : null;
        var isOfBench = to.Gets(NoticeField.Bench);
        return new MessageSubject.Result(notice.Kind, request, notice.Revision, notice.IsLatest,
            to.Gets(NoticeField.Specimen) ? known?.Specimen : null, to.Gets(NoticeField.Assay) ? known?.Assay : null,
            isOfBench ? notice.Bench : null, isOfBench ? notice.Batch : null);
    }

    private string NameOf(BenchId bench) =>
        clinic.Catalogue.Benches().FirstOrDefault(known => known.Bench == bench)?.Name ?? bench.Value;

    /// <summary>The same for the same notice to the same destination for ever, and for no other.</summary>
    private static string NameFor(DestinationId destination, Notice notice)
    {
        using var hash = IncrementalHash.CreateHash(HashAlgorithmName.SHA256);
        foreach (var text in new[] { "incubation message 1", destination.Value, notice.Id.Request?.Value ?? "" })
        {
            var bytes = Encoding.UTF8.GetBytes(text);
            var length = new byte[sizeof(int)];
            BinaryPrimitives.WriteInt32BigEndian(length, bytes.Length);
            hash.AppendData(length);
            hash.AppendData(bytes);
        }

        hash.AppendData(notice.RowHash.Span);
        return "msg_" + Convert.ToHexStringLower(hash.GetHashAndReset().AsSpan(0, 16));
    }
}
