using System.Globalization;
using Incubation.Bench;
using Incubation.Clinic;
using Incubation.Clinic.People;
using Incubation.Clinic.Stock;
using Incubation.Exchange.Gs1;
using Incubation.Model;
using Incubation.Model.Terms;
using Incubation.Service.Clinic;
using Incubation.Service.Clock;
using Incubation.Service.People;
using Incubation.Service.Text;
using NodaTime.Text;

namespace Incubation.Service.Stock;

/// <summary>A delivery as it was filled in.</summary>
public sealed class ReceiveForm
{
    /// <summary>What it is, by its name in <see cref="StockKind"/>.</summary>
    public string? Kind { get; set; } = nameof(StockKind.Kit);

    /// <summary>Its lot.</summary>
    public string? Lot { get; set; }

    /// <summary>Code of its assay; empty for a control material of several.</summary>
    public string? Assay { get; set; }

    /// <summary>Its last day, ISO.</summary>
    public string? Expiry { get; set; }

    /// <summary>How many.</summary>
    public string? Count { get; set; }

    /// <summary>The maker's item number, or empty.</summary>
    public string? Item { get; set; }

    /// <summary>The serial number, or empty.</summary>
    public string? Serial { get; set; }

    /// <summary>Whether the kit's box holds its buffer.</summary>
    public bool WithBuffer { get; set; } = true;

    /// <summary>Whether the kit's box holds its reader card.</summary>
    public bool WithCard { get; set; } = true;
}

/// <summary>Something that is done with a lot that is there.</summary>
public enum StockAction
{
    /// <summary>Opened.</summary>
    Open,

    /// <summary>Counted anew, with why.</summary>
    Count,

    /// <summary>Put into quarantine, with why.</summary>
    Quarantine,

    /// <summary>Let out of quarantine, with why.</summary>
    LetOut,

    /// <summary>Finished.</summary>
    Finish,
}

/// <summary>Takes lots in, and says what has become of them.</summary>
public sealed class StockService(ClinicHost clinic, StockQueries room, BenchClock clock)
{
    /// <summary>The longest reason, in characters.</summary>
    public const int LongestWhy = 200;

    private const int Most = 100_000;

    /// <summary>Fills a form from what was scanned; what the code does not say is left as it stands.</summary>
    /// <returns>What is wrong with the code, or what was read and what still is to be done; one of the two.</returns>
    public (string? Fault, string? News) Fill(ReceiveForm form, string? scanned)
    {
        ArgumentNullException.ThrowIfNull(form);
        var reading = Gs1Reader.Read(scanned, clock.Now.InZone(clinic.Facts.Zone).Year);
        if (reading.Scan is not { } scan)
            return (reading.Fault, null);
        var known = scan.Item is { } item
            ? clinic.Log.Stock.Items.Values.Where(one => one.Item == item).MaxBy(one => one.Shipments[^1].At) : null;
        form.Lot = scan.Lot ?? form.Lot;
        form.Expiry = scan.Expiry is { } expiry ? Say.Day(expiry.Day) : form.Expiry;
        form.Item = scan.Item?.Value ?? form.Item;
        form.Serial = scan.Serial ?? form.Serial;
        form.Count = scan.Count?.ToString(CultureInfo.InvariantCulture) ?? form.Count;
        if (known is not null)
            (form.Kind, form.Assay) = (known.Kind.ToString(), known.Assay?.Value);
        return (null, string.Join(' ', new[]
        {
            Say.Of(StockWords.ScanRead, Gs1Writer.Bracketed(scan.Elements)),
            scan.Expiry is { IsDayUnstated: true } unstated
                ? Say.Of(StockWords.ScanDayUnstated, Say.Day(unstated.Day)) : null,
            scan.Item is not null && known is null ? StockWords.ScanItemNew : null,
            scan.Lot is null ? StockWords.ScanNoLot : null,
        }.OfType<string>()));
    }

    /// <summary>Takes a delivery in.</summary>
    /// <returns>What is wrong, member by member; or what was recorded.</returns>
    public (IReadOnlyList<FormFault> Faults, string? News) Receive(Actor? actor, ReceiveForm form)
    {
        ArgumentNullException.ThrowIfNull(form);
        if (!Access.May(actor, Right.KeepStock))
            return ([new FormFault("", actor is null ? Words.SignInFirst : Words.NotAllowed)], null);
        var (faults, received) = Read(form);
        if (received is null)
            return (faults, null);
        List<ClinicEvent> events = [received];
        if (received.Kind == StockKind.Kit)
        {
            if (form.WithBuffer)
                events.Add(received with { Kind = StockKind.Buffer, Item = null, Serial = null });
            if (form.WithCard)
                events.Add(received with { Kind = StockKind.ReaderCard, Count = 1, Item = null, Serial = null });
        }

        var isFurther = clinic.Log.Stock.Find(received.Kind, received.Lot) is not null;
        var outcome = Outcome.Of(() => clinic.Log.Record(events, Provenances.Of(actor!, clock)));
        var parts = events.OfType<ClinicEvent.StockReceived>().Skip(1).Select(part => StockText.Of(part.Kind)).ToList();
        var with = parts.Count > 0 ? " " + Say.Of(StockWords.ReceivedWith, string.Join(", ", parts)) : "";
        var expired = received.Expiry < clock.Now.InZone(clinic.Facts.Zone).Date
            ? " " + StockWords.ReceivedExpired : "";
        return outcome.IsDone
            ? ([], Say.Of(isFurther ? StockWords.ReceivedAgain : StockWords.Received, StockText.Of(received.Kind),
                received.Lot, received.Count, Say.Day(received.Expiry)) + with + expired)
            : ([new FormFault(nameof(ReceiveForm.Lot), outcome.Fault!)], null);
    }

    /// <summary>
    /// Does something with a lot that is there. What waits for a lot that is stopped by it is held back on its bench.
    /// </summary>
    /// <param name="actor">Who.</param>
    /// <param name="key">Which lot.</param>
    /// <param name="deed">What.</param>
    /// <param name="count">For a count: how many there are.</param>
    /// <param name="why">Why, where that is asked.</param>
    /// <returns>What is wrong, or what was done.</returns>
    public async Task<(FormFault? Fault, string? News)> DoAsync(Actor? actor, StockKey key, StockAction deed,
        string? count, string? why)
    {
        if (!Access.May(actor, deed == StockAction.LetOut ? Right.Supervise : Right.KeepStock))
            return (new FormFault("", actor is null ? Words.SignInFirst : deed == StockAction.LetOut
                ? StockWords.LetOutNeedsSupervisor : Words.NotAllowed), null);
        why = why?.Trim() ?? "";
        if (deed is StockAction.Count or StockAction.Quarantine or StockAction.LetOut
            && why.Length is 0 or > LongestWhy)
            return (new FormFault("why", why.Length == 0
                ? StockWords.WhyMissing : Say.Of(StockWords.WhyTooLong, LongestWhy)), null);
        var number = 0;
        if (deed == StockAction.Count && !IsNumber(count, 0, out number))
            return (new FormFault("count", Say.Of(Words.NumberFault, 0, Most)), null);
        var outcome =
            Outcome.Of(() => clinic.Log.Record(EventOf(key, deed, number, why), Provenances.Of(actor!, clock)));
        if (!outcome.IsDone)
            return (new FormFault("", outcome.Fault!), null);
        var held = deed is StockAction.Quarantine or StockAction.Finish && key.Kind != StockKind.Control
            ? await HoldBackAsync(actor!, key.Lot) : [];
        var done = Say.Of(DoneOf(deed), StockText.Of(key.Kind), key.Lot);
        return (null, held.Count == 0 ? done : done + " " + Say.Of(StockWords.HeldBack, string.Join(", ", held)));
    }

    /// <summary>Says below which number something is ordered.</summary>
    /// <param name="actor">Who.</param>
    /// <param name="key">What.</param>
    /// <param name="least">The number as it was typed; null where it is ordered by none any more.</param>
    /// <returns>What is wrong, or what was set.</returns>
    public (string? Fault, string? News) SetReorder(Actor? actor, ReorderKey key, string? least)
    {
        if (!Access.May(actor, Right.Supervise))
            return (Words.NotAllowed, null);
        var number = 0;
        if (least is not null && !IsNumber(least, 1, out number))
            return (Say.Of(Words.NumberFault, 1, Most), null);
        var outcome = Outcome.Of(() => clinic.Log.Record(
            new ClinicEvent.ReorderPointSet(key.Kind, key.Assay, least is null ? null : number),
            Provenances.Of(actor!, clock)));
        return (outcome.Fault, !outcome.IsDone ? null : least is null
            ? Say.Of(StockWords.ReorderRemoved, StockText.Of(key))
            : Say.Of(StockWords.ReorderSet, StockText.Of(key), number));
    }

    private async Task<IReadOnlyList<string>> HoldBackAsync(Actor actor, LotCode lot)
    {
        List<string> held = [];
        foreach (var (runner, cartridge) in room.WaitingFor(lot))
            if (!cartridge.HeldBack
                && (await runner.SendAsync(new BenchCommand.ChangeReady(cartridge.Id, null),
                    Provenances.Of(actor, clock))).Recorded)
                held.Add(cartridge.Id.Value);
        return held;
    }

    private static ClinicEvent EventOf(StockKey key, StockAction deed, int count, string why) => deed switch
    {
        StockAction.Open => new ClinicEvent.StockOpened(key.Kind, key.Lot),
        StockAction.Count => new ClinicEvent.StockCounted(key.Kind, key.Lot, count, why),
        StockAction.Quarantine => new ClinicEvent.StockQuarantined(key.Kind, key.Lot, why),
        StockAction.LetOut => new ClinicEvent.StockLetOut(key.Kind, key.Lot, why),
        _ => new ClinicEvent.StockFinished(key.Kind, key.Lot),
    };

    private static string DoneOf(StockAction deed) => deed switch
    {
        StockAction.Open => StockWords.DoneOpened,
        StockAction.Count => StockWords.DoneCounted,
        StockAction.Quarantine => StockWords.DoneQuarantined,
        StockAction.LetOut => StockWords.DoneLetOut,
        _ => StockWords.DoneFinished,
    };

    private (List<FormFault> Faults, ClinicEvent.StockReceived? Received) Read(ReceiveForm form)
    {
        List<FormFault> faults = [];
        if (!Enum.TryParse<StockKind>(form.Kind, out var kind))
            faults.Add(new FormFault(nameof(ReceiveForm.Kind), StockWords.KindFault));
        var lot = form.Lot?.Trim();
        if (!Bounds.IsIdentifier(lot))
            faults.Add(new FormFault(nameof(ReceiveForm.Lot), StockWords.LotFault));
        var hasAssay = !string.IsNullOrWhiteSpace(form.Assay);
        if (hasAssay ? clinic.Catalogue.Assays().All(known => known.Assay.Code.Value != form.Assay)
            : kind != StockKind.Control)
            faults.Add(new FormFault(nameof(ReceiveForm.Assay), StockWords.AssayFault));
        var expiry = LocalDatePattern.Iso.Parse(form.Expiry?.Trim() ?? "");
        if (!expiry.Success)
            faults.Add(new FormFault(nameof(ReceiveForm.Expiry), StockWords.ExpiryFault));
        if (!IsNumber(form.Count, 1, out var count))
            faults.Add(new FormFault(nameof(ReceiveForm.Count), Say.Of(Words.NumberFault, 1, Most)));
        var item = form.Item?.Trim();
        if (!string.IsNullOrEmpty(item) && !Gtin.IsValid(item))
            faults.Add(new FormFault(nameof(ReceiveForm.Item), Gtin.HasForm(item)
                ? Say.Of(StockWords.ItemCheckDigit, CheckDigit.OfGs1(item[..^1]), item[^1]) : StockWords.ItemFault));
        else if (!string.IsNullOrEmpty(item)
            && clinic.Log.Stock.Items.Values.FirstOrDefault(one => one.Item == new Gtin(item)
                && (one.Kind, one.Assay?.Value) != (kind, hasAssay ? form.Assay : null)) is { } other)
            faults.Add(new FormFault(nameof(ReceiveForm.Item),
                Say.Of(StockWords.ItemOfOther, StockText.Of(other.Kind), other.Assay)));
        var serial = form.Serial?.Trim();
        if (!string.IsNullOrEmpty(serial) && !Bounds.IsIdentifier(serial))
            faults.Add(new FormFault(nameof(ReceiveForm.Serial), StockWords.SerialFault));
        return faults.Count > 0
            ? (faults, null)
            : ([], new ClinicEvent.StockReceived(
                kind, new LotCode(Bounds.Normal(lot!)), hasAssay ? new AssayCode(form.Assay!) : null, expiry.Value,
                count,
                string.IsNullOrEmpty(item) ? null : new Gtin(item), string.IsNullOrEmpty(serial) ? null : serial));
    }

    private static bool IsNumber(string? text, int least, out int number)
    {
        var read = TypedNumber.Whole(text, least, Most, out var fault);
        number = read ?? 0;
        return fault is null;
    }
}
