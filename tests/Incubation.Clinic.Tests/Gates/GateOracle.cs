using System.Globalization;
using System.Text;
using NodaTime;

namespace Incubation.Clinic.Tests.Gates;

/// <summary>
/// The rules of results, controls and gates, written down once more and apart from the program: which results may be
/// out, how controls are judged, which lots are shut, what waits for a person. It knows steps, names and times alone.
/// </summary>
internal sealed class GateOracle(DateTimeZone zone, IReadOnlyDictionary<string, string> assayOf, Instant start)
{
    private const string Open = "open", Failed = "failed";
    public static readonly Duration ToLoad = Duration.FromMinutes(20), Reaction = Duration.FromMinutes(8),
        Window = Duration.FromMinutes(30), ToClear = Duration.FromSeconds(50);
    internal enum Stage { Waiting, InWork, Reading, Read, Gone }
    /// <summary>A value that a result has or had, and whether somebody was told of it or need not be.</summary>
    internal sealed record Said(string Value, bool IsTold = false, bool IsWaived = false)
    {
        /// <summary>Above 150 it is critical; what is beyond the range is at its end.</summary>
        public bool IsCritical => Value[0] is not ('!' or '<') && !Value.Contains(',')
            && decimal.Parse(Value.TrimStart('>'), CultureInfo.InvariantCulture) is var number
            && (Value[0] == '>' ? number >= 150 : number > 150);
    }
    internal sealed record Entry(string Value, bool IsOther, bool IsUnchecked, bool AwaitsGate, bool IsReleased)
    {
        /// <summary>No one number, or one that no assay here shows: they measure from 0.5 to 1000.</summary>
        public bool IsImpossible => Value[0] != '!' && (Value.Contains(',') || (Value[0] == '<' ? Number > 0.5m
            : Value[0] == '>' ? Number < 1000 : Number is < 0.5m or > 1000));
        public bool IsDoubtful => IsOther || IsUnchecked || IsImpossible;
        private decimal Number => decimal.Parse(Value.TrimStart('<', '>'), CultureInfo.InvariantCulture);
        /// <summary>Amended; of an impossible value nothing was released yet.</summary>
        public Entry To(string value) => (this with { Value = value }) is { IsImpossible: false } one ? one
            : this with { Value = value, IsReleased = false };
    }
    internal sealed record Cart(string Id, int Bench, string Lot, int Level)
    {
        public bool IsPatient => Level == 0;
        public Stage Stage { get; set; }
        public Stage Thrown { get; private set; }
        public void Throw() => (Thrown, Stage) = (Stage, Stage.Gone);
        public Instant Mixed { get; set; }
        public Instant Loaded { get; set; }
        public Instant? ReadAt { get; set; }
        public Instant Out { get; set; }
        public bool IsUntimed { get; set; }
        public Instant? DeniedRead { get; set; }
        public bool LoadedShut { get; set; }
        public bool Marked { get; set; }
        public Entry? Result { get; set; }
        public List<Said> Values { get; set; } = [];
        public Said Last { get => Values[^1]; set => Values[^1] = value; }
        public (Entry? Result, List<Said> Values, bool WasHeld) Before { get; set; } = (null, [], false);
        /// <summary>An entry that waited for a person was taken back or entered anew: the next one waits too.</summary>
        public bool WasHeld { get; set; }
        public bool HoldsNext => Result is not { IsReleased: true } && (WasHeld || Result is { IsDoubtful: true });
        public string? Proposal { get; set; }
        public int Batch { get; set; }
        public bool IsClosed { get; set; }
        public bool IsOn(int bench, string lot) => Bench == bench && Lot == lot;
        public bool IsInWork => Stage is Stage.InWork or Stage.Reading;
        /// <summary>Read outside its window or nobody knows when; its lot shut at its load, or failed since.</summary>
        public bool Deviates => LoadedShut || Marked || IsUntimed || IsStated || ReadAt < Loaded + Reaction || IsLate;
        public bool IsLate => ReadAt > Loaded + Reaction + Window;
        public bool IsStated { get; set; }
        /// <summary>A person has to look before the result is used.</summary>
        public bool Waits => Proposal is not null || AwaitsPerson || Result is { IsReleased: false, AwaitsGate: true };
        private bool AwaitsPerson => Result is { IsReleased: false } one && (one.IsDoubtful || WasHeld || Deviates);
        /// <summary>Another value is a supervisor's to say; entered anew, what waits for one waits on.</summary>
        public bool ChangeWaits => !IsClosed && (EntryWaits || AwaitsPerson);
        public bool EntryWaits => Result is not null
            && (!IsPatient || (!AwaitsPerson && (Result.IsReleased || Values.Count > 1)));
        public bool IsUsed => Stage == Stage.Read && Result is not null && !Waits;
        /// <summary>Why somebody must be told: it ends by telling or by a reason, and no new value ends it.</summary>
        public string Duty => DutyOf(IsPatient ? Values : []);
        private static string DutyOf(List<Said> all) => all.Aggregate((Open: "", Told: false), (duty, one) =>
            (one.IsTold || one.IsWaived ? "" : duty.Told ? "correction" : one.IsCritical ? "critical"
                : duty.Open.Length > 0 ? "earlier" : "", duty.Told || one.IsTold)).Open;
        /// <summary>Somebody must be told of what is taken back, or knows it as a value: it is amended.</summary>
        public bool Forgets(List<Said> then) =>
            (then.Count == 0 && (Proposal is not null || Result is { IsReleased: true }))
            || (Duty.Length > 0 && DutyOf(then).Length == 0) || (IsPatient && Result?.Value[0] != '!'
            && then.Count(one => one.IsTold) < Values.Count(one => one.IsTold));
        /// <summary>The first value, or one after which nothing was owed or told, is the only one.</summary>
        public void Enter(Entry one)
        {
            (Before, WasHeld) = ((Result, Values, WasHeld), HoldsNext);
            if (Duty.Length == 0 && Values.Count < 2 && !Values.Exists(said => said.IsTold || said.IsWaived))
                Values = [];
            var isKept = Result is { IsReleased: true } was && was.Value == one.Value;
            Result = one with { IsReleased = isKept && !Deviates && !one.IsDoubtful && !one.AwaitsGate };
            if (Values is not [.., var last] || last.Value != one.Value)
                Values = [.. Values, new(one.Value)];
        }
        /// <summary>What deviated at its entry is doubted, whatever is said later; a release covers no news.</summary>
        public void Hear(Action<Cart> word, bool isNews = true)
        {
            var deviated = Deviates;
            word(this);
            Result = Deviates ? Result is { } told ? told with { IsReleased = told.IsReleased && !isNews } : null
                : deviated && Result is { IsReleased: false } one ? one with { IsUnchecked = true } : Result;
        }
        /// <summary>In time only by what is said after that time has passed: a word against the clock.</summary>
        public void LoadWas(int minutes, Instant now)
        {
            (var wasLate, Loaded) = (IsLate && !IsUntimed, Mixed + Duration.FromMinutes(minutes));
            IsStated |= wasLate && !IsLate && ReadAt >= Loaded + Reaction && Loaded + Reaction + Window < now;
        }
        public void TakeBack()
        {
            var waited = HoldsNext || ((!IsPatient || AwaitsPerson) && Before.Result?.Value != Result!.Value);
            (Result, Values, WasHeld) = Before;
            if (waited && !HoldsNext)
                (Result, WasHeld) = (Result is { } was ? was with { IsReleased = false } : null, true);
        }
        public bool CanRelease => Waits && Proposal is null && !Result!.Value.Contains(',');
        public void Unread() => (WasHeld, DeniedRead, ReadAt, IsUntimed, IsStated, Result, Proposal, Values) =
            (HoldsNext || ChangeWaits, ReadAt, null, false, false, null, null, []);
        public void Release() =>
            (Result, Last) = (Result! with { IsReleased = true }, IsClosed ? Last : Last with { IsWaived = false });
        public void Amend(string value) => (Result, Values) = (Result!.To(value), [.. Values, new(value)]);
    }
    private sealed record Judgement(Cart Cart, int Place, int Set)
    {
        public string Shown { get; set; } = "";
        public string Verdict { get; set; } = "";
        public bool WasAccepted { get; set; }
        public int Last { get; set; }
        public Instant Known { get; set; }
        public Instant Out { get; set; }
        public int Batch { get; set; }
    }
    private readonly Dictionary<string, Cart> carts = [];
    private readonly Dictionary<string, Judgement> judged = [];
    private readonly Dictionary<(int, string), string> gates = [];
    private readonly Dictionary<(string, int), (decimal Mean, decimal Deviation)> targets = [];
    private readonly Dictionary<string, Step.Approved> sheets = [];
    private readonly List<(string Lot, Instant At, int Number)> actions = [];
    private readonly Dictionary<string, int> reviews = [];
    private readonly Dictionary<int, Instant> serviced = [];
    private readonly Dictionary<string, (Instant First, Instant Last)> cameIn =
        assayOf.Keys.Where(lot => lot[^1] == '1').ToDictionary(lot => lot, _ => (start, start));
    private readonly Dictionary<string, bool> compared = [];
    private readonly int[] batch = [1, 1];
    private readonly bool[] started = [false, false];
    private Instant? required;
    private int number;
    public IEnumerable<Cart> Carts => carts.Values;
    public Cart? Find(string id) => carts.GetValueOrDefault(id);
    public IEnumerable<string> Lots => assayOf.Keys;
    public bool NeedsSecond { get; private set; }
    public bool IsIn(string lot) => cameIn.ContainsKey(lot);
    public int LevelsOf(string lot) => sheets.TryGetValue(assayOf[lot], out var sheet) ? sheet.Levels : 0;
    /// <summary>Takes in what happens; whether it is not to be refused.</summary>
    public bool Take(Step step, Instant now)
    {
        number++;
        if (step is Step.TakenBack undo ? carts[undo.Cart].Forgets(carts[undo.Cart].Before.Values)
            : step is Step.Never { What: "mix" or "read" } gone && carts[gone.Cart].Forgets([]))
            return false;
        switch (step)
        {
            case Step.Came came:
                carts[came.Cart] = new Cart(came.Cart, came.Bench, came.Lot, came.Level) { Batch = batch[came.Bench] };
                SetGates(came.Bench, now);
                break;
            case Step.Begun begun:
                var begins = carts[begun.Cart];
                (begins.Stage, begins.Mixed, begins.Loaded) = (Stage.InWork, now, now + ToLoad);
                begins.LoadedShut = begins.IsPatient && GateOf(begins) is Failed or "wait";
                started[begins.Bench] = true;
                break;
            case Step.Read read:
                var cart = carts[read.Cart];
                cart.IsUntimed |= read.IsUntimed && cart.ReadAt is null;
                (cart.ReadAt, cart.Stage, cart.Out) = (cart.ReadAt ?? now, Stage.Read, now + ToClear);
                break;
            case Step.ReadAgain { Cart: var told } when carts[told] is { DeniedRead: { } then } once:
                (once.ReadAt, once.Stage, once.Out) = (then, Stage.Read, then + ToClear);
                break;
            case Step.Answered answer when !carts[answer.Cart].IsUntimed: return false;
            case Step.Answered answer: carts[answer.Cart].Hear(cart => cart.IsUntimed = false); break;
            case Step.Entered entered:
                var shown = carts[entered.Cart];
                if (entered.IsChecked && (shown.Result?.Value ?? entered.Value) != entered.Value
                    && (NeedsSecond || (entered.IsAide && shown.EntryWaits)))
                    return Amend(shown, entered.Value, waits: true);
                shown.Enter(new Entry(entered.Value, entered.Identity is "none" or "other", !entered.IsChecked,
                    shown.IsPatient && GateOf(shown) != Open, false));
                break;
            case Step.TakenBack { Cart: var back }: carts[back].TakeBack(); break;
            case Step.Never never:
                var past = carts[never.Cart];
                past.Stage = never.What is "discard" ? past.Thrown : never.What is "mix" ? Stage.Waiting
                    : never.What is "read" ? Stage.InWork : Stage.Reading;
                if (never.What is "mix" or "read")
                    past.Unread();
                past.LoadedShut &= never.What != "mix";
                past.Hear(_ => { }, isNews: never.What == "clear");
                break;
            case Step.LoadWas load: carts[load.Cart].Hear(cart => cart.LoadWas(load.Minutes, now)); break;
            case Step.Discarded { Cart: var lost }: carts[lost].Throw(); break;
            case Step.Withdrawn { Cart: var lost }: carts[lost].Throw(); break;
            case Step.Released { Cart: var on } when !carts[on].CanRelease: return false;
            case Step.Released { Cart: var on }: carts[on].Release(); break;
            case Step.Amended { Cart: var on } amended:
                return Amend(carts[on], amended.Value, NeedsSecond || (amended.IsAide && carts[on].ChangeWaits));
            case Step.Proposed proposed: return Amend(carts[proposed.Cart], proposed.Value, waits: true);
            case Step.Looked looked: return Look(carts[looked.Cart], looked);
            case Step.Told { Cart: var to } when carts[to].Last.IsTold: return false;
            case Step.Waived { Cart: var of } when carts[of].Duty.Length == 0: return false;
            case Step.Told { Cart: var to }: carts[to].Last = carts[to].Last with { IsTold = true }; break;
            case Step.Waived { Cart: var of }: carts[of].Last = carts[of].Last with { IsWaived = true }; break;
            case Step.Ruled ruled: NeedsSecond = ruled.Second; break;
            case Step.Required { On: var isOn } when isOn == required is not null: return false;
            case Step.Required { On: var isOn }: required = isOn ? now : null; break;
            case Step.Compared settled: compared[settled.Lot] = settled.IsAccepted; break;
            case Step.Closed closed: return Close(closed, now);
            case Step.TargetSet set: targets[(set.Assay, set.Level)] = (set.Mean, set.Deviation); break;
            case Step.Approved approved: sheets[approved.Assay] = approved; break;
            case Step.ActionTaken taken when !AwaitingAction(taken.Lot).Any(): return false;
            case Step.ActionTaken taken: actions.Add((taken.Lot, now, number)); break;
            case Step.Reviewed reviewed when AwaitingReview(reviewed.Lot).Count == 0: return false;
            case Step.Reviewed reviewed: reviews[reviewed.Lot] = number; break;
            case Step.Serviced service: serviced[service.Bench] = now; break;
            case Step.MoreCame { Lot: var lot }: cameIn[lot] = (IsIn(lot) ? cameIn[lot].First : now, now); break;
        }
        return true;
    }
    private static bool Amend(Cart cart, string value, bool waits)
    {
        if (cart is not { Result: { } result, Proposal: null } || result.Value == value)
            return false;
        (waits ? (Action<string>)(wanted => cart.Proposal = wanted) : cart.Amend)(value);
        return true;
    }
    private static bool Look(Cart cart, Step.Looked looked)
    {
        if (cart is not { Proposal: { } value, Result: not null } || (looked.IsOwn && looked.IsConfirmed))
            return false;
        cart.Proposal = null;
        (looked.IsConfirmed ? (Action<string>)cart.Amend : _ => { })(value);
        return true;
    }
    /// <summary>A batch ends when nothing is in work and no result is missing; what is held waits on.</summary>
    private bool Close(Step.Closed closed, Instant now)
    {
        Settle(now);
        var present = carts.Values.Where(cart => cart.Bench == closed.Bench && !cart.IsClosed).ToList();
        if (!started[closed.Bench]
            || present.Exists(cart => cart.IsInWork || (cart.Stage == Stage.Read && cart.Result is null)))
            return false;
        (batch[closed.Bench], started[closed.Bench]) = (batch[closed.Bench] + 1, false);
        foreach (var cart in present)
            if (cart.Stage == Stage.Waiting && closed.Carry)
                (cart.Batch, cart.Marked, cart.WasHeld) = (batch[closed.Bench], false, false);
            else
                (cart.IsClosed, cart.Stage) = (true, cart.Stage == Stage.Waiting ? Stage.Gone : cart.Stage);
        return true;
    }
    /// <summary>Controls are judged, and then gates stand as they should.</summary>
    public void Settle(Instant now)
    {
        foreach (var cart in carts.Values.Where(cart => !cart.IsPatient).OrderBy(cart => cart.Out).ToList())
            Judge(cart, now);
        for (var bench = 0; bench < batch.Length; bench++)
            SetGates(bench, now);
    }
    /// <summary>A control is judged when it is used and new; else, unless it is rejected, it is set aside.</summary>
    private void Judge(Cart cart, Instant now)
    {
        var before = judged.GetValueOrDefault(cart.Id);
        if (cart.IsUsed ? before is { Verdict: not "" } && before.Shown == cart.Result!.Value
                && (before.Out == cart.Out || before.Verdict == "rejected")
            : before is null or { Verdict: "" or "rejected" })
            return;
        var judgement = before ?? new Judgement(cart, ++number, SetOf(cart));
        (judgement.Last, judgement.Known, judgement.Batch) = (++number, now, cart.Batch);
        (judgement.Out, judgement.Shown, judgement.Verdict) = cart.IsUsed
            ? (cart.Out, cart.Result!.Value, Verdict(cart, cart.Result.Value)) : (judgement.Out, "", "");
        judgement.WasAccepted |= judgement.Verdict == "accepted";
        judged[cart.Id] = judgement;
    }
    private string Verdict(Cart cart, string value) =>
        !targets.TryGetValue((assayOf[cart.Lot], cart.Level), out var target) ? "neither"
            : value[0] is '<' or '>' ? "rejected"
            : !decimal.TryParse(value, CultureInfo.InvariantCulture, out var measured) ? "neither"
            : Math.Abs(measured - target.Mean) <= 3 * target.Deviation ? "accepted" : "rejected";
    /// <summary>A batch's controls belong together until a level comes again or a corrective action is taken.</summary>
    private int SetOf(Cart cart)
    {
        var before = judged.Values.Where(one => one.Cart.IsOn(cart.Bench, cart.Lot)).OrderBy(one => one.Place).ToList();
        if (before.Count == 0)
            return 1;
        var (last, action) = (before[^1], actions.LastOrDefault(one => one.Lot == cart.Lot).Number);
        var isNew = last.Batch != cart.Batch || last.Place < action
            || before.Exists(one => one.Set == last.Set && one.Cart.Level == cart.Level);
        return isNew ? last.Set + 1 : last.Set;
    }
    /// <summary>Rejected controls about which nothing has been written down since.</summary>
    private IEnumerable<Judgement> AwaitingAction(string lot) => judged.Values.Where(one => one.Cart.Lot == lot
        && one.Verdict == "rejected" && !actions.Exists(action => action.Lot == lot && action.Number > one.Last));
    /// <summary>In doubt: what went out from the last good set before a control that proved wrong until then.</summary>
    private Dictionary<int, (Instant? Since, Instant Until)> AwaitingReview(string lot)
    {
        var spans = new Dictionary<int, (Instant? Since, Instant Until)>();
        foreach (var wrong in judged.Values.Where(one => one.Cart.Lot == lot
            && one.Last > reviews.GetValueOrDefault(lot)
            && (one.Verdict == "rejected" || (one.Verdict != "accepted" && one.WasAccepted))))
        {
            var sets = judged.Values.Where(one => one.Cart.IsOn(wrong.Cart.Bench, lot) && one.Set < wrong.Set)
                .GroupBy(one => one.Set).Where(set => set.All(one => one.Verdict != "rejected"))
                .SelectMany(set => set).Where(one => one.Verdict == "accepted").ToList();
            Instant? since = sets.Count == 0 ? null : sets.Max(one => one.Out);
            spans[wrong.Cart.Bench] = spans.TryGetValue(wrong.Cart.Bench, out var span)
                ? (span.Since is { } one && since is { } other ? Instant.Min(one, other) : null,
                    Instant.Max(span.Until, wrong.Known))
                : (since, wrong.Known);
        }
        return spans;
    }
    /// <summary>A rejected control shuts a lot until something is written down and all levels are accepted.</summary>
    private bool IsShut(string lot) => judged.Values.Where(one => one.Cart.Lot == lot && one.Verdict == "rejected")
        .Any(one =>
        {
            var action = actions.Find(action => action.Lot == lot && action.Number > one.Last);
            return action.Lot is null || Enumerable.Range(1, LevelsOf(lot)).Append(one.Cart.Level)
                .Any(level => !IsAccepted(one.Cart.Bench, lot, level, action.At, action.Number));
        });
    /// <summary>Whether a level was accepted by a control that came out since, and was not judged before.</summary>
    private bool IsAccepted(int bench, string lot, int level, Instant since, int after = 0) => judged.Values.Any(
        one => one.Cart.IsOn(bench, lot) && one.Cart.Level == level && one.Verdict == "accepted" && one.Out >= since
            && one.Place > after);
    /// <summary>Since when controls of a lot are due on a bench; null where they never are.</summary>
    private Instant? DueSince(int bench, string lot, Instant now) =>
        !sheets.TryGetValue(assayOf[lot], out var sheet) || sheet.Levels == 0 ? null : new Instant?[]
        {
            sheet.EachDay ? zone.AtStartOfDay(now.InZone(zone).Date).ToInstant() : null,
            sheet.NewLot ? Instant.MinValue : null,
            sheet.NewShipment && cameIn.TryGetValue(lot, out var came) ? came.Last : null,
            sheet.AfterService && serviced.TryGetValue(bench, out var at) ? at : null,
        }.Max();
    public string GateOf(int bench, string lot, Instant now)
    {
        var isFine = DueSince(bench, lot, now) is not { } since || sheets[assayOf[lot]].Gate is "none"
            || Enumerable.Range(1, LevelsOf(lot)).All(level => IsAccepted(bench, lot, level, since));
        return IsShut(lot) ? Failed : !isFine ? sheets[assayOf[lot]].Gate : IsHeldBack(lot) ? "compare" : Open;
    }
    /// <summary>A lot was refused, or came in since they are to be compared and was not yet.</summary>
    private bool IsHeldBack(string lot) => compared.TryGetValue(lot, out var isAccepted) ? !isAccepted
        : required is { } since && cameIn.TryGetValue(lot, out var came) && came.First >= since
            && cameIn.Any(other => assayOf[other.Key] == assayOf[lot] && other.Value.First < came.First);
    private string GateOf(Cart cart) => gates.GetValueOrDefault((cart.Bench, cart.Lot), Open);
    /// <summary>What waits for something else waits until a gate that shuts opens; a failed one marks it. A bench that
    /// has nothing of a lot hears of its gate when it has.</summary>
    private void SetGates(int bench, Instant now)
    {
        foreach (var lot in assayOf.Keys.Where(lot => gates.GetValueOrDefault((bench, lot), Open) != Open
            || carts.Values.Any(cart => cart is { IsClosed: false, Stage: not Stage.Gone } && cart.IsOn(bench, lot))))
        {
            var gate = GateOf(bench, lot, now);
            (var isNew, gates[(bench, lot)]) = (gate != gates.GetValueOrDefault((bench, lot), Open), gate);
            foreach (var cart in carts.Values.Where(cart => isNew && cart.IsPatient && !cart.IsClosed
                && cart.IsOn(bench, lot)))
            {
                var (waits, was) = (cart.Waits || cart.Result is { AwaitsGate: true }, cart.Marked);
                cart.Marked |= gate == Failed && IsOpen(cart, thrown: true) && cart.Stage != Stage.Waiting;
                cart.Result = cart.Result is not { } one ? null : one with
                { AwaitsGate = gate != Open && waits, IsReleased = one.IsReleased && cart.Marked == was };
            }
        }
    }
    /// <summary>Whether something is still to be done with a cartridge or its result.</summary>
    private static bool IsOpen(Cart cart, bool thrown = false) => !cart.IsClosed && (cart.Stage < Stage.Read
        || ((cart.Stage == Stage.Read || thrown) && (cart.Result is null || cart.Waits)));
    /// <summary>Whether a bench has to do with a lot: its gate is told only then.</summary>
    public bool Concerns(int bench, string lot) => carts.Values.Any(cart => cart.IsOn(bench, lot) && IsOpen(cart));
    /// <summary>What may be out, in words.</summary>
    public string Reported() => string.Join(' ', carts.Values.Where(cart => cart.IsPatient && cart.IsUsed)
        .Select(cart => $"{cart.Id}={cart.Result!.Value}").Order(StringComparer.Ordinal));
    public string Told(Instant now)
    {
        var text = new StringBuilder();
        text.AppendJoin(' ', judged.Values.Where(one => one.Verdict.Length > 0)
            .Select(one => $"{one.Cart.Id}:{one.Verdict}").Order(StringComparer.Ordinal)).AppendLine();
        text.AppendJoin(' ', carts.Values.Where(cart => cart is { IsClosed: false, Duty.Length: > 0 })
            .Select(cart => $"{cart.Id}!{cart.Duty}").Order(StringComparer.Ordinal)).AppendLine();
        foreach (var lot in assayOf.Keys)
        {
            text.Append(lot).Append(string.Concat(batch.Select((_, bench) => " " + GateOf(bench, lot, now))));
            text.Append(" action ").AppendJoin(' ', AwaitingAction(lot).Select(one => one.Cart.Id)
                .Order(StringComparer.Ordinal)).Append(" review");
            foreach (var (bench, (since, until)) in AwaitingReview(lot).OrderBy(one => one.Key))
                text.Append(" " + bench + " " + since?.ToUnixTimeSeconds() + "-" + until.ToUnixTimeSeconds());
            text.AppendLine();
        }
        return text.ToString();
    }
}
