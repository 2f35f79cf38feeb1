namespace Incubation.Clinic;

/// <summary>Why the clinic's log refused something; hosts have the words.</summary>
public enum ClinicRefusal
{
    /// <summary>The clinic has not been opened; that comes first.</summary>
    ClinicNotOpen,

    /// <summary>The clinic has been opened before.</summary>
    ClinicAlreadyOpen,

    /// <summary>No such zone in the IANA time zone database.</summary>
    UnknownTimeZone,

    /// <summary>A name or unit is empty.</summary>
    NameMissing,

    /// <summary>A length of the assay is negative, or a shortest length is longer than the allowed one.</summary>
    LengthsImpossible,

    /// <summary>An approval's version is not one more than the last.</summary>
    VersionOutOfOrder,

    /// <summary>
    /// What a sheet says cannot be: a range that ends below its start, too many decimals or levels, a volume of
    /// nothing.
    /// </summary>
    SheetImpossible,

    /// <summary>The draft is another by now, or none.</summary>
    DraftChanged,

    /// <summary>Who wrote at a draft does not approve it.</summary>
    OwnDraft,

    /// <summary>No such assay is approved, or not in this version.</summary>
    UnknownAssay,

    /// <summary>The lot has come in before.</summary>
    LotAlreadyReceived,

    /// <summary>No such lot has come in.</summary>
    UnknownLot,

    /// <summary>The lot is for another assay.</summary>
    LotOfAnotherAssay,

    /// <summary>The lot's last day has passed.</summary>
    LotExpired,

    /// <summary>The bench is registered already.</summary>
    BenchAlreadyRegistered,

    /// <summary>No such bench.</summary>
    UnknownBench,

    /// <summary>A request has this id already.</summary>
    DuplicateRequest,

    /// <summary>Retention is at least two years and at most a century.</summary>
    RetentionOutOfRange,
    WireDaysOutOfRange,

    /// <summary>The time of what is to be erased is not over.</summary>
    RetentionNotOver,

    /// <summary>What the bench knew after what is to be erased does not stand in its record.</summary>
    StandingMissing,

    /// <summary>Tables by which is decided what goes differ from the log.</summary>
    TablesDiffer,

    /// <summary>The name to sign in with has been given to somebody before.</summary>
    PersonAlreadyThere,

    /// <summary>No such person.</summary>
    UnknownPerson,

    /// <summary>Without this administrator nobody could look after people any more.</summary>
    LastAdministrator,

    /// <summary>A device or key has this id already.</summary>
    DeviceAlreadyThere,

    /// <summary>No such device, or it is revoked already.</summary>
    UnknownDevice,

    /// <summary>No such key, or it is revoked already.</summary>
    UnknownKey,

    /// <summary>A key ends today at the earliest, and two years from today at the latest.</summary>
    KeyEndOutOfRange,

    /// <summary>A sign-in to read ends today at the earliest, and thirty days from today at the latest.</summary>
    InspectorEndOutOfRange,

    /// <summary>Who inspects reads: no other role, no PIN, no passkey.</summary>
    InspectorReads,

    /// <summary>No such passkey, or it is removed already.</summary>
    UnknownPasskey,

    /// <summary>This passkey is there already.</summary>
    PasskeyAlreadyThere,

    /// <summary>A person has so many passkeys at most.</summary>
    TooManyPasskeys,

    /// <summary>The passkeys there are were made for another domain.</summary>
    PasskeyDomainDiffers,

    /// <summary>What is said of a passkey cannot be: too long, empty, or somebody else's.</summary>
    PasskeyImpossible,

    /// <summary>The passkey has counted no more signatures than it had before.</summary>
    PasskeyCountWentBack,

    /// <summary>A control has one of the levels that there are.</summary>
    UnknownControl,

    /// <summary>This control's result has been judged before.</summary>
    ControlAlreadyJudged,

    /// <summary>A moving mean cannot be worked out or judged so.</summary>
    MeanImpossible,

    /// <summary>What was found, or what was done, is not said.</summary>
    WordsMissing,

    /// <summary>The rejected controls of the lot are not, or not only, those.</summary>
    NothingToPutRight,

    /// <summary>No control of the lot was rejected since its last review.</summary>
    NothingToReview,

    /// <summary>The lot, its buffer or its card is in quarantine.</summary>
    LotQuarantined,

    /// <summary>The lot, its buffer or its card is finished.</summary>
    LotFinished,

    /// <summary>The lot's buffer or card is not in.</summary>
    PartsOfAnotherLot,

    /// <summary>The lot came in before with another last day.</summary>
    ExpiryDiffers,

    /// <summary>A delivery has at least one, and a count is not negative.</summary>
    CountImpossible,

    /// <summary>The reason is missing.</summary>
    WhyMissing,

    /// <summary>No such request has come in.</summary>
    UnknownRequest,

    /// <summary>The result is another by now, or is so already.</summary>
    ResultChanged,

    /// <summary>An amendment of the result waits for a second person.</summary>
    AmendmentWaits,

    /// <summary>Who entered an amendment does not decide it.</summary>
    OwnAmendment,

    /// <summary>No such report waits for a decision.</summary>
    NothingToDecide,

    /// <summary>No such comparison of lots, or no such pair in it.</summary>
    UnknownComparison,

    /// <summary>
    /// Two lots, or two values, cannot be compared so: they are the same, or the criterion or a value is impossible.
    /// </summary>
    ComparisonImpossible,

    /// <summary>A comparison of the lot is open already, or it is so already whether one is asked for.</summary>
    ComparisonIsSo,

    /// <summary>The comparison has been decided.</summary>
    ComparisonSettled,

    /// <summary>Fewer specimens were compared than the comparison asks for.</summary>
    ComparisonTooFew,

    /// <summary>No such round of proficiency testing.</summary>
    UnknownRound,

    /// <summary>
    /// A round has a name, a programme and each of its specimens once for an assay; what is reported or graded is of
    /// it.
    /// </summary>
    RoundImpossible,

    /// <summary>
    /// The round is reported or cancelled already, or not reported yet; or a specimen is of an open round.
    /// </summary>
    RoundIsSo,

    /// <summary>The lot is opened, in quarantine, let out or finished already.</summary>
    LotIsSo,

    /// <summary>A panel has at least two assays, each once, and no more than are run on one tube.</summary>
    PanelImpossible,

    /// <summary>No such panel.</summary>
    UnknownPanel,

    /// <summary>No such instrument, or it is used no more.</summary>
    UnknownInstrument,

    /// <summary>A link to an instrument cannot be so: an address, a port, a line or a name of a test.</summary>
    InstrumentImpossible,

    /// <summary>Another instrument has this line, or this address may connect to this port for another.</summary>
    LineTaken,

    /// <summary>The message was taken, or what is asked of it was decided, already.</summary>
    WireMessageIsSo,

    /// <summary>The order is there already, on a bench, or cancelled; or it is not known.</summary>
    OrderIsSo,

    /// <summary>As many orders wait as may.</summary>
    WorklistFull,

    /// <summary>No such destination, or it is used no more.</summary>
    UnknownDestination,

    /// <summary>A destination cannot be so: its name, its address, what it is told of.</summary>
    DestinationImpossible,

    /// <summary>It is so already.</summary>
    DestinationIsSo,

    /// <summary>There are as many destinations as may be.</summary>
    DestinationsFull,
}
