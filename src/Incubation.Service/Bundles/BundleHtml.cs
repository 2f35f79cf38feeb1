using System.Net;
using System.Text;
using Incubation.Clinic.People;
using Incubation.Service.Text;
using NodaTime;

namespace Incubation.Service.Bundles;

/// <summary>
/// The printable page of a bundle: one file that needs no other and runs nothing, in the order in which an inspector
/// asks.
/// </summary>
internal static class BundleHtml
{
    private const string Style = "body{font:11pt/1.4 sans-serif;color:#111;background:#fff;margin:1.5rem auto;"
        + "max-width:70rem;padding:0 1rem}h1{font-size:1.5rem}h2{font-size:1.15rem;margin:1.6rem 0 .4rem}"
        + "table{border-collapse:collapse;width:100%;min-width:48rem}"
        + "th,td{border:1px solid #767676;padding:.25rem .4rem;"
        + "text-align:left;vertical-align:top;overflow-wrap:break-word}thead th{background:#eee}"
        + ".frame{overflow-x:auto}dl{display:grid;grid-template-columns:minmax(8rem,14rem) 1fr;gap:.2rem .8rem}"
        + "dt{font-weight:bold}dd{margin:0;overflow-wrap:anywhere}code,pre{font-family:monospace;"
        + "white-space:pre-wrap;overflow-wrap:anywhere}@media(max-width:40rem){dl{grid-template-columns:1fr}}"
        + "@media print{body{margin:0;max-width:none}h2{break-after:avoid}tr{break-inside:avoid}"
        + ".frame{overflow:visible}table{font-size:8pt;min-width:0}}";

    /// <summary>Writes the page.</summary>
    /// <param name="title">Its title.</param>
    /// <param name="facts">What is true of the whole: names and values.</param>
    /// <param name="tables">The tables.</param>
    /// <param name="proof">How it is proven, in lines.</param>
    /// <param name="zone">The clinic's zone.</param>
    /// <param name="people">Where names stand.</param>
    public static string Write(string title, IEnumerable<(string Name, string Value)> facts,
        IEnumerable<BundleTable> tables, string proof, DateTimeZone zone, PeopleState people)
    {
        var page = new StringBuilder();
        page.Append("<!DOCTYPE html>\n<html lang=\"en\"><head><meta charset=\"utf-8\">"
            + "<meta name=\"viewport\" content=\"width=device-width, initial-scale=1\"><title>")
            .Append(Safe(title)).Append("</title><style>").Append(Style).Append("</style></head><body><main>\n<h1>")
            .Append(Safe(title)).Append("</h1>\n<dl>");
        foreach (var (name, value) in facts.Where(fact => fact.Value.Length > 0))
            page.Append("<dt>").Append(Safe(name)).Append("</dt><dd>").Append(Safe(value)).Append("</dd>\n");
        page.Append("</dl>\n");
        foreach (var table in tables)
            Write(page, table, zone, people);
        page.Append("<h2>").Append(Safe(BundleWords.Proof)).Append("</h2>\n<pre>").Append(Safe(proof))
            .Append("</pre>\n</main></body></html>\n");
        return page.ToString();
    }

    private static void Write(StringBuilder page, BundleTable table, DateTimeZone zone, PeopleState people)
    {
        page.Append("<h2 id=\"").Append(table.Name).Append("\">").Append(Safe(table.Title)).Append("</h2>\n");
        if (table.Rows.Count == 0)
        {
            page.Append("<p>").Append(Safe(BundleWords.Empty)).Append("</p>\n");
            return;
        }

        page.Append("<div class=\"frame\" tabindex=\"0\" role=\"region\" aria-labelledby=\"").Append(table.Name)
            .Append("\"><table><thead><tr>");
        foreach (var column in table.Columns)
            page.Append("<th scope=\"col\">").Append(Safe(column.Head)).Append("</th>");
        page.Append("</tr></thead><tbody>\n");
        foreach (var row in table.Rows)
        {
            page.Append("<tr>");
            foreach (var cell in row)
                page.Append("<td>").Append(Safe(BundleTable.Shown(cell, zone, people))).Append("</td>");
            page.Append("</tr>\n");
        }

        page.Append("</tbody></table></div>\n<p>").Append(Safe(Say.Of(BundleWords.File, table.Name + ".csv")))
            .Append("</p>\n");
    }

    private static string Safe(string text) => WebUtility.HtmlEncode(text);
}
