using Incubation.Clinic.People;

namespace Incubation.Service.People;

/// <summary>The words of roles, devices and scopes.</summary>
public static class RoleText
{
    /// <summary>A role.</summary>
    public static string Of(Role role) => role switch
    {
        Role.Inspector => PeopleWords.RoleInspector,
        Role.Aide => PeopleWords.RoleAide,
        Role.Supervisor => PeopleWords.RoleSupervisor,
        _ => PeopleWords.RoleAdministrator,
    };

    /// <summary>What a device is for.</summary>
    public static string Of(DeviceKind kind) => kind == DeviceKind.Wall
        ? PeopleWords.DeviceWall : PeopleWords.DeviceTablet;

    /// <summary>What a key opens.</summary>
    public static string Of(KeyScope scope) => scope switch
    {
        KeyScope.Look => PeopleWords.ScopeLook,
        KeyScope.Requests => PeopleWords.ScopeRequests,
        KeyScope.Events => PeopleWords.ScopeEvents,
        _ => PeopleWords.ScopeBench,
    };
}

/// <summary>Where a sign-in may lead on to.</summary>
public static class OwnPages
{
    /// <summary>The wanted page where it is one of this server's own; the benches otherwise.</summary>
    public static string Of(string? wanted) =>
        wanted is ['/', not '/', ..] && !wanted.Contains('\\', StringComparison.Ordinal)
            && Uri.TryCreate(wanted, UriKind.Relative, out _)
            ? wanted
            : "/";
}
