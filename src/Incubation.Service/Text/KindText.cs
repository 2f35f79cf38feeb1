using Incubation.Model;

namespace Incubation.Service.Text;

/// <summary>What a cartridge serves, where that is no patient.</summary>
public static class KindText
{
    /// <summary>The word; null for a patient's.</summary>
    public static string? Of(RequestKind kind) => kind switch
    {
        RequestKind.Control => Words.Control,
        RequestKind.Proficiency => ProgrammeWords.KindProficiency,
        _ => null,
    };
}
