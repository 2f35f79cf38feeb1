using System.ComponentModel;
using System.Diagnostics;
using System.Globalization;
using System.Text;
using System.Text.Json;
using Incubation.Exchange.Webhooks;
using Incubation.TestKit;
using Xunit;

namespace Incubation.Exchange.Tests.Webhooks;

/// <summary>
/// The example of deploy/README.md, as it stands there, run by python3: whoever copies it takes what we sign, and
/// nothing else.
/// </summary>
public sealed class VerifyExampleTest
{
    private const string Written = "whsec_MfKQ9r8GKYqrTwjUPD8ILPZIo2LaLaSw";
    private const string Id = "msg_p5jXN8AQM9LWM0D4loKWxJek";
    private const long Sent = 1614265330;
    private const string Body = "{\"test\": 2432232314}";

    /// <summary>The vector of the public specification "Standard Webhooks".</summary>
    private const string Signature = "v1,g0hM9SsE+OTPJTGt/tmIKtSyZlE3uFJELVlNIOLJ1OE=";

    [Fact]
    public void Example_TakesWhatWeSign_AndNothingElse()
    {
        var other = WebhookSecret.Of(Enumerable.Repeat((byte)7, WebhookSecret.Length).ToArray());
        var replaced = new WebhookSecrets(WebhookSecret.Read(Written)!).Replaced(other, Sent + 1);
        var both = replaced.Sign(Id, Sent, Encoding.UTF8.GetBytes(Body));
        Assert.Equal(2, both.Split(' ').Length);
        (string Secret, string Signature, string Body, long Now, bool Right)[] asked =
        [
            (Written, Signature, Body, Sent, true),
            (Written, Signature, Body, Sent + 300, true),
            (Written, both, Body, Sent, true),
            (other.Write(), both, Body, Sent, true),
            (Written, Signature, Body, Sent + 301, false),
            (Written, Signature, Body, Sent - 301, false),
            (Written, Signature, Body + " ", Sent, false),
            (other.Write(), Signature, Body, Sent, false),
            (Written, Signature.Replace("v1,", "v2,", StringComparison.Ordinal), Body, Sent, false),
            (Written, Signature[..^2] + "F=", Body, Sent, false),
            (Written, "", Body, Sent, false),
        ];
        Assert.Equal(asked.Select(one => one.Right), Run(asked.Select(one =>
            $"is_from_the_server({Text(one.Secret)}, {Headers(one.Signature)}, {Text(one.Body)}.encode(), "
            + one.Now.ToString(CultureInfo.InvariantCulture) + ")")));
    }

    /// <summary>Runs the example, and says of each expression whether it is so.</summary>
    private static IReadOnlyList<bool> Run(IEnumerable<string> expressions)
    {
        const string begins = "```python\n";
        var page = CommittedFile.Read("deploy/README.md");
        var at = page.IndexOf(begins, StringComparison.Ordinal) + begins.Length;
        var script = page[at..page.IndexOf("```", at, StringComparison.Ordinal)]
            + string.Concat(expressions.Select(one => $"print({one})\n"));
        var start = new ProcessStartInfo("python3", ["-"])
        {
            RedirectStandardInput = true,
            RedirectStandardOutput = true,
            RedirectStandardError = true,
        };
        using var python = Started(start);
        python.StandardInput.Write(script);
        python.StandardInput.Close();
        var said = python.StandardOutput.ReadToEnd();
        Assert.Equal("", python.StandardError.ReadToEnd());
        return [.. said.Split('\n', StringSplitOptions.RemoveEmptyEntries).Select(bool.Parse)];
    }

    private static Process Started(ProcessStartInfo start)
    {
        try
        {
            return Process.Start(start)!;
        }
        catch (Win32Exception missing)
        {
            throw new InvalidOperationException("python3 is needed to run the example of deploy/README.md.", missing);
        }
    }

    private static string Headers(string signature) => $"{{'webhook-id': {Text(Id)}, 'webhook-timestamp': '"
        + Sent.ToString(CultureInfo.InvariantCulture) + $"', 'webhook-signature': {Text(signature)}}}";

    /// <summary>A text of JSON is one of Python.</summary>
    private static string Text(string text) => JsonSerializer.Serialize(text);
}
