using System.Globalization;
using Incubation.Clinic.People;
using Incubation.Service.Settings;
using Incubation.Service.Text;

namespace Incubation.Service.People;

/// <summary>How long a read-only sign-in lasts where nothing else is wanted, checked.</summary>
/// <param name="UsualDays">Its last day is so many days after the one on which it is made.</param>
public sealed record InspectorSettings(int UsualDays)
{
    /// <summary>Where nothing is set: a visit's week, judged.</summary>
    public static InspectorSettings Usual { get; } = new(6);

    /// <summary>Reads the settings; every fault is a sentence in <paramref name="faults"/>.</summary>
    public static InspectorSettings Read(IConfiguration configuration, ICollection<string> faults)
    {
        var text = configuration.GetSection(ServerSettings.Section)["InspectorDays"];
        if (string.IsNullOrWhiteSpace(text))
            return Usual;
        if (int.TryParse(text, NumberStyles.None, CultureInfo.InvariantCulture, out var days)
            && days <= ClinicPerson.MostInspectorDays)
            return new InspectorSettings(days);
        faults.Add(Say.Of(PeopleWords.InspectorDaysFault, text, ClinicPerson.MostInspectorDays));
        return Usual;
    }
}
