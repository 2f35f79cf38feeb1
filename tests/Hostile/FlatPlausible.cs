using System.Text.Json;
using Incubation.Bench;
using Incubation.Model;
using Incubation.TestKit;
using NodaTime;
using NodaTime.Text;

namespace Incubation.Hostile;

/// <summary>A cartridge and a report that a command can speak of.</summary>
internal sealed record FlatThing(string Request, string Lot, string Specimen, string Assay, string Report);

/// <summary>What a person's tap would hold in each member of the flat form, as JSON.</summary>
internal static class FlatPlausible
{
    private static readonly string[] ToldTogether = ["mixed", "loaded", "read-started"];
    private static readonly string[] ToldMembers = ["kind", "at", "request", "slot", "reader"];

    /// <summary>A plausible value of a member; empty where it would be left out.</summary>
    /// <exception cref="InvalidOperationException">A member is new: say here what it plausibly holds.</exception>
    public static string Of(string name, string kind, FlatThing thing, string id, Instant now, SeededRandom random)
    {
        var place = random.Chance(0.5);
        var number = Extremes.Number(random.Between(1, 4));
        return name switch
        {
            "id" => Quoted(id),
            "kind" => Quoted(kind),
            "at" => Quoted(InstantPattern.ExtendedIso.Format(now - Duration.FromSeconds(random.Between(0, 30)))),
            "stated" => random.Chance(0.2) ? "true" : "false",
            "device" => Quoted("tablet-1"),
            "request" => Quoted(thing.Request),
            "slot" => kind is "loaded" or "answer" or "correct" ? number : Extremes.Absent,
            "reader" => kind is "loaded" or "correct" ? Extremes.Absent : "1",
            "lot" => Quoted(thing.Lot),
            "hands" => "1",
            "reason" when kind == "amend-result" =>
                Quoted(KebabCase.Of(random.Pick(Enum.GetValues<AmendmentReason>()))),
            "why" => place ? Extremes.Absent : Quoted("they are away"),
            "reason" => Quoted(KebabCase.Of(random.Pick(Enum.GetValues<DiscardReason>()))),
            "words" => Quoted("as seen"),
            "value" => kind is "result" or "amend-result" ? Quoted("12.5") : Extremes.Absent,
            "noValue" or "person" => Extremes.Absent,
            "inTime" => random.Chance(0.3) ? "true" : Extremes.Absent,
            "alarm" => Quoted(Conditions.Of(random.Pick(Enum.GetValues<AlarmKind>())).Code + "/" + thing.Request),
            "of" => Quoted(thing.Report),
            "locked" => random.Chance(0.1) ? "true" : "false",
            "then" => Quoted(InstantPattern.ExtendedIso.Format(now + Duration.FromMinutes(random.Between(-20, 40)))),
            "with" => place ? Extremes.Absent : "[" + Quoted(thing.Report) + "]",
            "question" => Quoted(KebabCase.Of(random.Pick(Enum.GetValues<QuestionKind>())) + "/" + thing.Request),
            "answer" => Quoted(KebabCase.Of(random.Pick(Enum.GetValues<Answer>()))),
            "resource" => Quoted(KebabCase.Of(random.Pick(Enum.GetValues<ResourceKind>()))),
            "number" => random.Chance(0.3) ? Extremes.Absent : number,
            "minutes" => random.Chance(0.3) ? Extremes.Absent : Extremes.Number(random.Between(1, 60)),
            "anyway" => place ? "true" : Extremes.Absent,
            "celsius" => Extremes.Number(random.Between(20, 40)),
            "tolerance" => Extremes.Number(random.Between(1, 3)),
            "rules" => place ? Extremes.Absent : "[{\"assay\":" + Quoted(thing.Assay) + ",\"minutes\":5}]",
            "shown" => Quoted(thing.Specimen),
            "readBack" => place ? "true" : Extremes.Absent,
            "assay" => Quoted(thing.Assay),
            "scan" => kind is "loaded" or "read-started" or "cleared" && random.Chance(0.3)
                ? Quoted(KebabCase.Of(random.Pick(Enum.GetValues<LabelScan>()))) : Extremes.Absent,
            "told" => kind is not "several" ? Extremes.Absent
                : "[" + string.Join(',', ToldTogether.Select(one => "{"
                    + string.Join(',', ToldMembers
                        .Select(member => (Name: member, Json: Of(member, one, thing, id, now, random)))
                        .Where(member => member.Json.Length > 0)
                        .Select(member => Quoted(member.Name) + ":" + member.Json)) + "}")) + "]",
            _ => throw new InvalidOperationException($"Say what a plausible \"{name}\" is: a member is new."),
        };
    }

    private static string Quoted(string text) => "\"" + JsonEncodedText.Encode(text) + "\"";
}
