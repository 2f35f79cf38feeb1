using System.Collections.Concurrent;
using Microsoft.Playwright;

namespace Incubation.Browser.Tests.Walk;

/// <summary>
/// What a walk costs its people: presses (a button, a link, a box to tick, a fold, a trigger of the scanner; two for a
/// choice from a list), fields typed, and refusals met. Counted in the pages themselves, from what their browser tells.
/// </summary>
internal sealed class Effort
{
    private const string Watch = """
        (() => {
          const scans = at => at instanceof Element && at.closest(".scan-field") !== null;
          // A press of Enter in a form and a press of a label are told as a second click, without a place.
          addEventListener("click", event => {
            if (event.isTrusted && event.detail > 0 && !(event.target instanceof HTMLInputElement
              && !["checkbox", "radio", "submit", "button"].includes(event.target.type))) tally("press", "");
          }, true);
          addEventListener("change", event => {
            const at = event.target;
            if (at instanceof HTMLSelectElement) { tally("press", ""); tally("press", ""); }
            else if (scans(at)) tally("press", "");
            else if (at instanceof HTMLTextAreaElement || (at instanceof HTMLInputElement
              && !["checkbox", "radio", "file"].includes(at.type))) tally("typed", at.id);
          }, true);
          const said = new WeakMap();
          const look = () => {
            for (const one of document.querySelectorAll(".field-fault, .page-alert p, .dialog-wrong")) {
              const text = one.textContent.trim();
              if (text !== "" && said.get(one) !== text) tally("refusal", text);
              said.set(one, text);
            }
          };
          new MutationObserver(look).observe(document, { subtree: true, childList: true, characterData: true });
        })();
        """;

    private readonly ConcurrentQueue<(string Kind, string What)> seen = new();

    public int Presses => seen.Count(one => one.Kind == "press");

    public int Typed => seen.Count(one => one.Kind == "typed");

    public IReadOnlyList<string> Refusals => [.. seen.Where(one => one.Kind == "refusal").Select(one => one.What)];

    /// <summary>Refusals met more than once.</summary>
    public IReadOnlyList<string> MetTwice =>
        [.. Refusals.GroupBy(text => text).Where(group => group.Count() > 1).Select(group => group.Key)];

    public override string ToString() => FormattableString.Invariant(
        $"{Presses} presses, {Typed} fields typed, {Refusals.Count} refusals: {string.Join(" | ", Refusals)}");

    /// <summary>Counts what is done on the pages of somebody from now on.</summary>
    public async Task CountAsync(IPage page)
    {
        await page.Context.ExposeFunctionAsync<string, string, bool>("tally", (kind, what) =>
        {
            seen.Enqueue((kind, what));
            return true;
        });
        await page.Context.AddInitScriptAsync(Watch);
    }
}
