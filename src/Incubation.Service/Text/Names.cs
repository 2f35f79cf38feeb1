using Incubation.Clinic.People;
using Incubation.Model;

namespace Incubation.Service.Text;

/// <summary>The names that people read, of whoever and whatever stands in the log.</summary>
internal static class Names
{
    /// <summary>A person's name; a program stands in the log by its key, and has a name too.</summary>
    public static string Of(PersonId id, PeopleState people) => people.Person(id)?.Name
        ?? people.Keys.GetValueOrDefault(new DeviceId(id.Value))?.Name ?? id.Value;

    /// <summary>The name of a tablet, a wall screen or a program.</summary>
    public static string Of(DeviceId id, PeopleState people) => people.Devices.GetValueOrDefault(id)?.Name
        ?? people.Keys.GetValueOrDefault(id)?.Name ?? id.Value;
}
