namespace Incubation.Clinic.People;

/// <summary>What a person may do; from the aide on, each may do what those before may.</summary>
public enum Role
{
    /// <summary>Reads what is kept until a day that was said, and sends nothing: somebody who inspects.</summary>
    Inspector,

    /// <summary>Works at the bench.</summary>
    Aide,

    /// <summary>Also enrols tablets, and reads the log.</summary>
    Supervisor,

    /// <summary>Also looks after people and keys.</summary>
    Administrator,
}

/// <summary>What an enrolled device is for.</summary>
public enum DeviceKind
{
    /// <summary>A tablet at a bench, on which aides switch by PIN and report.</summary>
    Tablet,

    /// <summary>A screen on a wall: shows, and reports nothing.</summary>
    Wall,
}

/// <summary>What a program may do with its key.</summary>
public enum KeyScope
{
    /// <summary>Read snapshots, without names of specimens.</summary>
    Look,

    /// <summary>Put requests on a bench.</summary>
    Requests,

    /// <summary>Read the log.</summary>
    Events,

    /// <summary>Report and instruct as a person at the bench does.</summary>
    Bench,
}

/// <summary>How a person showed who they are.</summary>
public enum SignInWay
{
    /// <summary>By name and password.</summary>
    Password,

    /// <summary>By a PIN, on an enrolled tablet; gives an aide's rights whatever the role.</summary>
    Pin,

    /// <summary>By a passkey, which the authenticator used only after it had verified the person.</summary>
    Passkey,
}

/// <summary>Why a sign-in was refused.</summary>
public enum SignInFault
{
    /// <summary>The password or PIN was wrong, or nobody has the name.</summary>
    Wrong,

    /// <summary>Too many wrong ones from there: it must wait.</summary>
    MustWait,

    /// <summary>The person may not sign in any more.</summary>
    Ended,

    /// <summary>The passkey has counted no more signatures than it had before: it may have been copied.</summary>
    CountWentBack,
}

/// <summary>Why a sign-in ended.</summary>
public enum SignOutCause
{
    /// <summary>The person signed out.</summary>
    ByPerson,

    /// <summary>Another person signed in on the tablet.</summary>
    Switched,

    /// <summary>Nothing was touched for so long.</summary>
    Idle,

    /// <summary>It had lasted for as long as a sign-in may.</summary>
    Expired,

    /// <summary>The person's secret or rights were changed, or the device was revoked.</summary>
    Withdrawn,

    /// <summary>Ended from another sign-in: by the person, or by an administrator.</summary>
    FromElsewhere,
}

/// <summary>
/// A secret of a person. Only that it was set stands in the log; its hash lies beside, where it can be replaced.
/// </summary>
public enum SecretKind
{
    /// <summary>A password.</summary>
    Password,

    /// <summary>A PIN for enrolled tablets.</summary>
    Pin,

    /// <summary>A code with which the person sets a first or new password, once.</summary>
    WelcomeCode,

    /// <summary>The key of a device or program.</summary>
    Key,

    /// <summary>With which messages to a destination are signed.</summary>
    Signing,
}
