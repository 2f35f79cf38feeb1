using System.Globalization;

namespace Incubation.Browser.Tests.Figures;

/// <summary>How late a page was: real milliseconds by which it changed, and sounded, after what was due.</summary>
internal sealed class Lateness
{
    /// <summary>A page that is this late has not done it at all.</summary>
    private const double Never = 5000;

    private readonly List<double> shown = [];
    private readonly List<double> sounded = [];

    /// <summary>Dues that the page never showed, or showed before.</summary>
    public int NotShown { get; private set; }

    /// <summary>Dues without a sound of their own: another sounded at that moment.</summary>
    public int NotSounded { get; private set; }

    /// <summary>How many were due.</summary>
    public int Count { get; private set; }

    /// <summary>Holds what was due against what the page did.</summary>
    public void Add(IEnumerable<Due> dues, PageSeen seen)
    {
        var sounds = seen.Sounds.Where(one => !one.Back).Select(one => one.At).Order().ToList();
        foreach (var due in dues)
        {
            Count++;
            var change = seen.Shown.FirstOrDefault(one => one.Offer == due.Offer
                && (one.Phase == "now" || (!due.IsBegin && one.Phase == "prompt")) && one.At > due.At - Never);
            if (change is null || change.At > due.At + Never)
                NotShown++;
            else
                shown.Add(Math.Max(0, change.At - due.At));
            var sound = sounds.Select(at => at - due.At).Where(late => Math.Abs(late) < Never).OrderBy(Math.Abs)
                .Cast<double?>().FirstOrDefault();
            if (sound is not { } late2 || Math.Abs(late2) > 300)
                NotSounded++;
            else
                sounded.Add(Math.Max(0, late2));
        }
    }

    /// <summary>Notes the figures under a name.</summary>
    public void Note(string name)
    {
        FigureFile.Add(name + ", screen p50 ms", At(shown, 0.5));
        FigureFile.Add(name + ", sound p50 ms", At(sounded, 0.5));
    }

    /// <summary>A row of a table.</summary>
    public override string ToString() => string.Create(CultureInfo.InvariantCulture,
        $"{Count} dues: change on screen p50 {At(shown, 0.5):0} ms, p99 {At(shown, 0.99):0} ms, worst {At(shown, 1):0} "
        + $"ms ({NotShown} not seen); sound p50 {At(sounded, 0.5):0} ms, p99 {At(sounded, 0.99):0} ms, worst "
        + $"{At(sounded, 1):0} ms ({NotSounded} with no sound within 300 ms)");

    private static double At(List<double> all, double part) => all.Count == 0
        ? double.NaN : all.Order().ElementAt((int)Math.Ceiling(part * all.Count) - 1);
}
