using System.Text.RegularExpressions;

namespace Incubation.TestKit;

/// <summary>Signs a client in as a person does: by the form of the sign-in page.</summary>
public static partial class SignIn
{
    /// <summary>Passwords of the demo's people, as demo/clinic.json states them.</summary>
    public static IReadOnlyDictionary<string, string> Passwords { get; } = new Dictionary<string, string>
    {
        ["lena"] = "demo lamp orchard",
        ["tomas"] = "demo river pencil",
        ["ines"] = "demo candle harbour",
        ["mara"] = "demo window barley",
    };

    /// <summary>Fills a page's form in and sends it, with its hidden fields.</summary>
    public static async Task<HttpResponseMessage> FillInAsync(HttpClient client, string page,
        IEnumerable<KeyValuePair<string, string>> fields, CancellationToken cancel)
    {
        ArgumentNullException.ThrowIfNull(client);
        var html = await client.GetStringAsync(new Uri(page, UriKind.Relative), cancel);
        var form = Form().Matches(html).Select(one => one.Value)
            .First(one => one.Contains("_handler", StringComparison.Ordinal));
        var hidden = Hidden().Matches(form)
            .Select(field => KeyValuePair.Create(field.Groups[1].Value, field.Groups[2].Value));
        using var content = new FormUrlEncodedContent(hidden.Concat(fields));
        return await client.PostAsync(new Uri(page, UriKind.Relative), content, cancel);
    }

    /// <summary>Signs in by name and password.</summary>
    public static Task<HttpResponseMessage> ByPasswordAsync(HttpClient client, string name, string password,
        CancellationToken cancel) =>
        FillInAsync(client, "/sign-in", [new("Form.Name", name), new("Form.Password", password)], cancel);

    // The attribute order is that of the renderer. Of several forms the first that the page itself handles is meant.
    [GeneratedRegex("<form.*?</form>", RegexOptions.Singleline)]
    private static partial Regex Form();

    [GeneratedRegex("""<input type="hidden" name="([^"]+)" value="([^"]*)" ?/?>""")]
    private static partial Regex Hidden();
}
