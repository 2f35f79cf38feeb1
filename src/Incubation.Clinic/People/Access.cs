namespace Incubation.Clinic.People;

/// <summary>Something that not everybody may do.</summary>
public enum Right
{
    /// <summary>See benches as a wall shows them: no specimen, no request, no result by name.</summary>
    Look,

    /// <summary>Report steps and acknowledge alarms.</summary>
    Report,

    /// <summary>
    /// Start, close, withdraw, repeat, undo, enter results: what must be known to be a person's doing.
    /// </summary>
    Direct,

    /// <summary>Say that the server's time is right: a person's doing, never a program's.</summary>
    ConfirmTime,

    /// <summary>Put requests on a bench.</summary>
    AddRequests,

    /// <summary>Take lots in and say what becomes of them: a person's doing.</summary>
    KeepStock,

    /// <summary>Read the log.</summary>
    ReadEvents,

    /// <summary>Look after what is one's own: password, PIN, passkeys, sign-ins.</summary>
    OwnAccount,

    /// <summary>
    /// What needs a supervisor, and no program may do: enrol and revoke tablets and wall screens; set up benches and
    /// set their incubators; write and approve assay sheets; keep panels; set the controls' rules and targets, record
    /// what was done about failed ones and review the results released before; let a lot out of quarantine; release
    /// held results and amend the record; confirm the machine's clock; ask for what-if days.
    /// </summary>
    Supervise,

    /// <summary>Look after people and keys.</summary>
    Administer,

    /// <summary>Switch persons on an enrolled tablet.</summary>
    Switch,

    /// <summary>
    /// See what is on a bench with its specimens by name: what hands need that stand before it, locked or not.
    /// </summary>
    SeeBench,

    /// <summary>
    /// See specimens, requests and results by name away from the bench: batches, labels, run sheets, what waits.
    /// </summary>
    SeeNamed,

    /// <summary>See what is kept by name, and change nothing: records, batches played again, controls, what needs a
    /// decision.</summary>
    SeeRecord,

    /// <summary>See the stock, and change nothing: a person's doing.</summary>
    SeeStock,

    /// <summary>See reports, step times, assay sheets, the control programme, bundles and the clinic's log, and change
    /// nothing.</summary>
    SeeReports,
}

/// <summary>The one table of who may do what, to which bench.</summary>
public static class Access
{
    /// <summary>Whether an actor may do something, to a bench where one is named.</summary>
    public static bool May(Actor? actor, Right right, string? bench = null) =>
        actor is not null && (bench is null || actor.Bench is not { } own || own.Value == bench) && Has(actor, right);

    private static bool Has(Actor actor, Right right) => actor switch
    {
        Actor.Person person => Has(person, right),
        Actor.Tablet { Enrolled.Kind: DeviceKind.Tablet } =>
            right is Right.Look or Right.Report or Right.Switch or Right.SeeBench,
        Actor.Tablet => right == Right.Look,
        Actor.Program program => program.Key.Scopes.Any(scope => Has(scope, right)),
        _ => false,
    };

    private static bool Has(Actor.Person person, Right right) => right switch
    {
        Right.Look or Right.SeeRecord or Right.SeeStock => true,
        // Whoever inspects reads, and nothing else: each right that is added is refused here until it is said.
        Right.SeeReports or Right.ReadEvents when person.Role == Role.Inspector => true,
        _ when person.Role == Role.Inspector => false,
        Right.SeeBench or Right.SeeNamed or Right.Report or Right.Direct or Right.ConfirmTime
            or Right.AddRequests or Right.KeepStock => true,
        Right.OwnAccount => person.Session.Way is SignInWay.Password or SignInWay.Passkey,
        Right.Switch => person.On is { Kind: DeviceKind.Tablet },
        Right.ReadEvents or Right.SeeReports or Right.Supervise => person.Role >= Role.Supervisor,
        Right.Administer => person.Role >= Role.Administrator,
        _ => false,
    };

    private static bool Has(KeyScope scope, Right right) => scope switch
    {
        KeyScope.Look => right == Right.Look,
        KeyScope.Requests => right == Right.AddRequests,
        KeyScope.Events => right == Right.ReadEvents,
        KeyScope.Bench => right is Right.Look or Right.SeeBench or Right.SeeNamed or Right.SeeRecord or Right.Report
            or Right.Direct,
        _ => false,
    };
}
