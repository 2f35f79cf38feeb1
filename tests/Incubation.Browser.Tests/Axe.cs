using System.Text.Json;
using Deque.AxeCore.Commons;
using Microsoft.Playwright;

namespace Incubation.Browser.Tests;

/// <summary>What axe finds wrong on a page.</summary>
/// <param name="Id">The rule.</param>
/// <param name="Help">What it asks for.</param>
/// <param name="Impact">How grave it is: minor, moderate, serious or critical.</param>
/// <param name="Targets">Where: selectors of elements.</param>
internal sealed record AxeFault(string Id, string Help, string? Impact, string[] Targets)
{
    public override string ToString() => $"{Id} {Help}: {string.Join(", ", Targets)}";
}

/// <summary>
/// Asks axe in the page itself. Deque's own way for Playwright opens another page for each answer, in case that frames
/// of other origins are to be asked, and takes twice the processor; these pages have no frames, and one that had would
/// be refused here.
/// </summary>
internal static class Axe
{
    private const string Run = """
        async tags => {
          if (!window.axe) return null;
          if (document.querySelector('iframe, frame')) throw new Error('A frame: axe would have to be in it too.');
          const found = await window.axe.run(document, {
            ...(tags.length ? { runOnly: { type: 'tag', values: tags } } : {}),
            resultTypes: ['violations'],
          });
          return JSON.stringify(found.violations.map(one => ({
            id: one.id, help: one.help, impact: one.impact, targets: one.nodes.map(node => String(node.target)) })));
        }
        """;

    private static readonly string[] Wcag22 = ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa"];
    private static readonly string Script = new BundledAxeScriptProvider().GetScript();

    /// <summary>What breaks WCAG 2.2, level A or AA: asked of every page.</summary>
    public static Task<AxeFault[]> WcagFaults(this IPage page) => Ask(page, Wcag22);

    /// <summary>What breaks any rule that axe has switched on, also where it only is good practice.</summary>
    public static Task<AxeFault[]> AllFaults(this IPage page) => Ask(page, []);

    private static async Task<AxeFault[]> Ask(IPage page, string[] tags)
    {
        var found = await page.EvaluateAsync<string?>(Run, tags);
        if (found is null)
        {
            await page.EvaluateAsync(Script);
            found = await page.EvaluateAsync<string?>(Run, tags);
        }

        return JsonSerializer.Deserialize<AxeFault[]>(found!, JsonSerializerOptions.Web)!;
    }
}
