using System.Text;
using Incubation.Exchange.Webhooks;
using NodaTime;
using Xunit;

namespace Incubation.Exchange.Tests.Webhooks;

/// <summary>Signatures, bodies and answers of webhooks.</summary>
public sealed class WebhookSecretTest
{
    /// <summary>The vector of the public specification "Standard Webhooks" and its libraries' tests.</summary>
    [Fact]
    public void Sign_TheSpecificationsVector_IsItsSignature()
    {
        var secret = WebhookSecret.Read("whsec_MfKQ9r8GKYqrTwjUPD8ILPZIo2LaLaSw")!;
        Assert.Equal("v1,g0hM9SsE+OTPJTGt/tmIKtSyZlE3uFJELVlNIOLJ1OE=", secret.Sign("msg_p5jXN8AQM9LWM0D4loKWxJek",
            1614265330, Encoding.UTF8.GetBytes("{\"test\": 2432232314}")));
    }

    [Theory]
    [InlineData(null)]
    [InlineData("")]
    [InlineData("MfKQ9r8GKYqrTwjUPD8ILPZIo2LaLaSw")]
    [InlineData("whsec_")]
    [InlineData("whsec_c2hvcnQ=")]
    [InlineData("whsec_not base64")]
    public void Read_NoSecret_IsNone(string? text) => Assert.Null(WebhookSecret.Read(text));

    [Fact]
    public void Write_ASecret_ReadsBackAsItself()
    {
        var secret = WebhookSecret.Of(Bytes(1));
        Assert.Equal(secret.Write(), WebhookSecret.Read(secret.Write())!.Write());
        Assert.Equal(WebhookSecret.Begins.Length + 44, secret.Write().Length);
    }

    [Theory]
    [InlineData(999, 2)]
    [InlineData(1000, 1)]
    public void Sign_WhileASecretIsReplaced_BearsBoth_TheNewOneFirst(long timestamp, int signatures)
    {
        var (old, next) = (WebhookSecret.Of(Bytes(1)), WebhookSecret.Of(Bytes(2)));
        var kept = WebhookSecrets.Read(new WebhookSecrets(old).Replaced(next, 1000).Write())!;
        var header = kept.Sign("msg_1", timestamp, [1, 2, 3]).Split(' ');
        Assert.Equal(new[] { next.Sign("msg_1", timestamp, [1, 2, 3]), old.Sign("msg_1", timestamp, [1, 2, 3]) }
            .Take(signatures), header);
    }

    [Fact]
    public void Replaced_Twice_TheOldestSignsNothing()
    {
        var kept = new WebhookSecrets(WebhookSecret.Of(Bytes(1))).Replaced(WebhookSecret.Of(Bytes(2)), 1000)
            .Replaced(WebhookSecret.Of(Bytes(3)), 2000);
        Assert.DoesNotContain(WebhookSecret.Of(Bytes(1)).Sign("a", 5, []), kept.Sign("a", 5, []),
            StringComparison.Ordinal);
    }

    [Fact]
    public void Body_WhatIsTold_StandsInItsPlace_AndWhatIsNullDoesNot()
    {
        var body = WebhookBody.Write("result.ready", Instant.FromUtc(2026, 3, 2, 8, 0),
            [("request", "R-1"), ("revision", 2), ("isLatest", true), ("specimen", null)]);
        Assert.Equal("{\"type\":\"result.ready\",\"timestamp\":\"2026-03-02T08:00:00Z\","
            + "\"data\":{\"request\":\"R-1\",\"revision\":2,\"isLatest\":true}}", Encoding.UTF8.GetString(body));
    }

    [Theory]
    [InlineData(200, WebhookVerdict.Taken)]
    [InlineData(204, WebhookVerdict.Taken)]
    [InlineData(301, WebhookVerdict.NotNow)]
    [InlineData(400, WebhookVerdict.Refused)]
    [InlineData(401, WebhookVerdict.NotNow)]
    [InlineData(404, WebhookVerdict.NotNow)]
    [InlineData(410, WebhookVerdict.Gone)]
    [InlineData(422, WebhookVerdict.Refused)]
    [InlineData(429, WebhookVerdict.NotNow)]
    [InlineData(500, WebhookVerdict.NotNow)]
    [InlineData(503, WebhookVerdict.NotNow)]
    public void Answer_AStatus_MeansWhatTheSpecificationSays(int status, WebhookVerdict verdict) =>
        Assert.Equal(verdict, WebhookAnswer.Of(status));

    [Theory]
    [InlineData("120", 120)]
    [InlineData("-1", null)]
    [InlineData("Wed, 21 Oct 2026 07:28:00 GMT", null)]
    [InlineData(null, null)]
    public void WaitOf_ARetryAfter_InSecondsAlone(string? header, int? seconds) =>
        Assert.Equal(seconds is { } wait ? Duration.FromSeconds(wait) : null, WebhookAnswer.WaitOf(header));

    private static byte[] Bytes(byte first) =>
        [.. Enumerable.Range(first, WebhookSecret.Length).Select(one => (byte)one)];
}
