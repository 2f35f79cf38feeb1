using Incubation.Clinic.People;

namespace Incubation.Service.People;

/// <summary>The words of roles, devices and scopes.</summary>
public static class RoleWords
{
    /// <summary>A role.</summary>
    public static string Of(Role role) => role switch
    {
        Role.Aide => Words.RoleAide,
        Role.Supervisor => Words.RoleSupervisor,
        _ => Words.RoleAdministrator,
    };

    /// <summary>What a device is for.</summary>
    public static string Of(DeviceKind kind) => kind == DeviceKind.Wall ? Words.DeviceWall : Words.DeviceTablet;

    /// <summary>What a key opens.</summary>
    public static string Of(KeyScope scope) => scope switch
    {
        KeyScope.Look => Words.ScopeLook,
        KeyScope.Requests => Words.ScopeRequests,
        KeyScope.Events => Words.ScopeEvents,
        _ => Words.ScopeBench,
    };
}

/// <summary>Where a sign-in may lead on to.</summary>
public static class OwnPages
{
    /// <summary>The wanted page where it is one of this server's own; the benches otherwise.</summary>
    public static string Of(string? wanted) =>
        wanted is ['/', not '/', ..] && !wanted.Contains('\\', StringComparison.Ordinal) && Uri.TryCreate(wanted, UriKind.Relative, out _)
            ? wanted
            : "/";
}
