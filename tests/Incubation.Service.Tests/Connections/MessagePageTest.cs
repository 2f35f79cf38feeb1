using System.Text.Json;
using Incubation.Bench;
using Incubation.Clinic;
using Incubation.Clinic.Connections;
using Incubation.Model;
using Incubation.Service.Connections;
using Incubation.TestKit;
using NodaTime;

namespace Incubation.Service.Tests.Connections;

/// <summary>deploy/README.md tells whoever writes a receiver of every message and each of its members.</summary>
public sealed class MessagePageTest
{
    private static readonly BenchId Bench = new("bench-1");

    [Fact]
    public void Page_NamesEveryTypeAndEveryMember()
    {
        var at = Instant.FromUtc(2026, 3, 2, 8, 0);
        var page = CommittedFile.Read("deploy/README.md");
        MessageSubject[] all =
        [
            .. Enum.GetValues<NoticeKind>().Where(kind => kind != NoticeKind.Alarm).Select(kind =>
                new MessageSubject.Result(kind, new RequestId("R01"), 1, true, new SpecimenId("SP-1"),
                    new AssayCode("DA"), Bench, 1)),
            new MessageSubject.Alarm("Bench 1",
                new ClinicEvent.AlarmNoticed(Bench, AlarmKind.WindowInDanger, "slot 3", at, at)),
            new MessageSubject.Test(),
        ];
        foreach (var about in all)
        {
            Assert.Contains($"| `{WebhookKind.TypeOf(about)}` |", page, StringComparison.Ordinal);
            var body = JsonDocument.Parse(WebhookKind.BodyOf(new OutgoingMessage("msg_1", at, about))).RootElement;
            foreach (var member in body.EnumerateObject().Concat(body.GetProperty("data").EnumerateObject()))
                Assert.Contains($"`{member.Name}`", page, StringComparison.Ordinal);
        }

        Assert.Contains($"within {WebhookKind.Patience.TotalSeconds} s", page, StringComparison.Ordinal);
        Assert.Contains($"less than {CertificateEnds.Soon.Days} days", page, StringComparison.Ordinal);
        Assert.Contains($"for {ConnectionService.BothFor.TotalHours} hours", page, StringComparison.Ordinal);
    }
}
