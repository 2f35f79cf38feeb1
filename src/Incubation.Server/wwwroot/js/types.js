// The shapes that the server sends and takes; they mirror the server's records of the same names.
// Instants are ISO 8601 texts in UTC; what counts with them turns them into milliseconds since 1970 first.

/**
 * @typedef {object} BenchSnapshot
 * @property {string} bench
 * @property {string} name
 * @property {number} revision Grows with every event; an older snapshot is ignored.
 * @property {string} serverTime
 * @property {number} rate Seconds of the server's time in one real second.
 * @property {string} zone IANA name of the clinic's time zone.
 * @property {BatchSnapshot} batch
 * @property {OfferSnapshot[]} offers
 * @property {UpcomingSnapshot[]} upcoming
 * @property {SlotSnapshot[]} slots
 * @property {ReaderSnapshot[]} readers
 * @property {AlarmSnapshot[]} alarms
 * @property {MissingResultSnapshot[]} missingResults
 * @property {UndoSnapshot|null} undo
 * @property {string[]} lots Lots that a typed end may mean.
 * @property {string} lanes SVG markup.
 * @property {{device: string, reports: number}[]} unchecked Reports made on locked tablets, not settled.
 * @property {QuestionSnapshot[]} questions The oldest first.
 * @property {UndoOfDevice[]} undos
 * @property {ReportSnapshot[]} reports What can be corrected, the newest first.
 * @property {{request: string, specimen: string, cause: string, text: string, by: string|null, since: string, reason: string, repeatLeft: boolean}[]} losses
 * @property {{request: string, specimen: string, assay: string}[]} repeats
 * @property {{request: string, specimen: string, cause: string, text: string}[]} notPlanned
 * @property {MeansSnapshot} means
 * @property {LabelSnapshot[]} labels What the labels of this batch's cartridges say.
 */

/**
 * @typedef {object} BatchSnapshot
 * @property {"preparing"|"running"|"finished"} phase
 * @property {number} number
 * @property {string} headline
 * @property {string|null} finish
 * @property {number} total
 * @property {number} done
 * @property {number} reacting
 * @property {number} waiting
 * @property {number} discarded
 * @property {number} readInWindow
 * @property {number} readOutside
 * @property {number} urgentWaiting
 * @property {string|null} urgentSince Since when the longest waiting of them could be worked on, or null.
 * @property {number} lateNow
 * @property {number|null} perHour
 * @property {{title: string, detail: string, link: string|null, linkText: string|null, blocked: boolean}|null} idle
 * @property {string|null} startedAt When the batch was started, or null before.
 */

/**
 * @typedef {object} OfferSnapshot
 * @property {string} key Stays the same while the same step is offered.
 * @property {"mix"|"load"|"move"|"clear"|"card-change"|"discard"} kind
 * @property {number} hands
 * @property {string} handsText
 * @property {string} title
 * @property {string} detail
 * @property {string} button
 * @property {string} countdownToBegin
 * @property {string} countdownToLatest
 * @property {boolean} urgent
 * @property {string|null} request
 * @property {string|null} specimen
 * @property {number|null} slot
 * @property {number|null} reader
 * @property {string|null} lot
 * @property {string} promptAt
 * @property {string} mayBegin
 * @property {string} plannedEnd
 * @property {string} countTo
 * @property {string|null} latestStart
 * @property {string} reportFrom
 * @property {string|null} askWhenAfter
 * @property {string|null} windowOpens
 * @property {string|null} windowCloses
 * @property {string|null} reason For a discard: the reason to send with it.
 * @property {string|null} [instruction] The words of the kit's instructions for this step.
 */

/**
 * @typedef {object} UpcomingSnapshot
 * @property {string} title
 * @property {string} start
 * @property {number|null} spareSeconds
 * @property {boolean} urgent
 * @property {string|null} request
 * @property {string} kind
 * @property {number|null} slot
 * @property {number|null} reader
 * @property {string|null} lot
 */

/**
 * @typedef {object} SlotSnapshot
 * @property {number} slot
 * @property {string|null} request
 * @property {string|null} specimen
 * @property {string|null} assay
 * @property {boolean} urgent
 * @property {string|null} opens
 * @property {string|null} guardFrom
 * @property {string|null} closes
 * @property {string|null} moveAt
 */

/**
 * @typedef {object} ReaderSnapshot
 * @property {number} reader
 * @property {string|null} card
 * @property {string|null} request
 * @property {string|null} specimen
 * @property {string|null} readyAt
 */

/**
 * @typedef {object} AlarmSnapshot
 * @property {string} id
 * @property {"low"|"medium"|"high"} priority
 * @property {string} word
 * @property {string} title
 * @property {string} text
 * @property {string} from
 * @property {string|null} until
 * @property {string|null} deadline
 * @property {string} escalatesAt From here it is on the wall as well, unless acknowledged.
 * @property {boolean} acknowledged
 * @property {boolean} passed Its cause has passed: it stands, silent, until somebody has seen it.
 * @property {string} request
 * @property {string[]} actions
 * @property {number|null} slot
 * @property {number|null} reader
 */

/**
 * @typedef {object} MissingResultSnapshot
 * @property {string} request
 * @property {string} specimen
 * @property {string} assay
 * @property {string} unit
 * @property {boolean} held
 */

/**
 * @typedef {object} UndoSnapshot
 * @property {string} report
 * @property {string} device
 * @property {string} text
 */

/**
 * @typedef {object} QuestionSnapshot
 * @property {string} id
 * @property {string} kind
 * @property {string} title
 * @property {string} text
 * @property {AnswerSnapshot[]} answers
 */

/**
 * @typedef {object} AnswerSnapshot
 * @property {string} answer
 * @property {string} text
 * @property {number[]} slots One of these is asked for, where there are any.
 * @property {boolean} takesTime
 * @property {boolean} takesLot
 */

/**
 * @typedef {object} UndoOfDevice
 * @property {string} device
 * @property {string} report
 * @property {string} text
 * @property {{report: string, text: string}[]} with Later reports that rest on it.
 */

/**
 * @typedef {object} ReportSnapshot
 * @property {string} report
 * @property {string} kind
 * @property {string} text
 * @property {string} at
 * @property {string} device
 * @property {string} reasonFrom From then on a correction needs a reason.
 * @property {number|null} slot
 */

/**
 * @typedef {object} LabelSnapshot
 * @property {string} code
 * @property {string} request
 * @property {string} specimen
 * @property {string} assay
 * @property {boolean} over Nothing is left to be done with the cartridge.
 */

/**
 * @typedef {object} MeansSnapshot
 * @property {number} hands
 * @property {{resource: string, number: number|null, from: string, to: string|null, why: string|null}[]} outOfUse
 * @property {boolean} intakePaused
 * @property {{set: number|null, tolerance: number|null, shows: number|null, measuredAt: string|null, outsideSince: string|null}|null} incubator
 */

/**
 * @typedef {object} ScreenCommand
 * @property {string} id
 * @property {string} kind
 * @property {string} at
 * @property {boolean} stated
 * @property {string} device
 * @property {string|null} request
 * @property {number|null} slot
 * @property {number|null} reader
 * @property {string|null} lot
 * @property {number|null} hands
 * @property {string|null} reason
 * @property {string|null} words
 * @property {string|null} value
 * @property {string|null} noValue
 * @property {boolean|null} inTime
 * @property {string|null} alarm
 * @property {string|null} of
 * @property {string|null} [person] Who was signed in at the touch, or last before it.
 * @property {boolean} [locked] Whether the tablet was locked at the touch.
 * @property {string|null} [then]
 * @property {string[]|null} [with]
 * @property {string|null} [question]
 * @property {string|null} [answer]
 * @property {string|null} [resource]
 * @property {number|null} [number]
 * @property {number|null} [minutes]
 * @property {boolean|null} [anyway]
 * @property {number|null} [celsius]
 */

/**
 * @typedef {object} CommandAnswer
 * @property {boolean} recorded
 * @property {string|null} sentence
 * @property {number} revision
 * @property {boolean} [signIn] Not heard because nobody is signed in.
 */

/**
 * Who is in front of a screen.
 * @typedef {object} WhoSnapshot
 * @property {"person"|"tablet"|"wall"|"program"} kind
 * @property {string|null} person
 * @property {string|null} name
 * @property {string} device What the log calls this screen.
 * @property {boolean} canSwitch
 */

/**
 * @typedef {object} TabletPerson
 * @property {string} id
 * @property {string} name
 */

/**
 * @typedef {object} PinAnswer
 * @property {boolean} done
 * @property {string|null} sentence
 * @property {WhoSnapshot|null} who
 */

/**
 * The line to the server: connected, or alone since an instant (the server's time in milliseconds).
 * @typedef {object} LineState
 * @property {"connecting"|"connected"|"alone"} state
 * @property {number|null} since
 */

export {};

/**
 * The clinic's day so far, all benches together.
 * @typedef {object} DaySnapshot
 * @property {string} serverTime
 * @property {number} clearedLastHour
 * @property {number} plannedLastHour
 * @property {number} results
 * @property {number|null} medianToResult Seconds.
 * @property {number|null} ninetiethToResult Seconds.
 * @property {number} readInWindow
 * @property {number} reads
 * @property {number} discarded
 * @property {number} urgentWaiting
 * @property {string|null} urgentSince
 * @property {number} late
 * @property {string|null} finish
 */

/**
 * A batch to be played again.
 * @typedef {object} BatchMoments
 * @property {string} zone
 * @property {string} begins
 * @property {string} ends
 * @property {Moment[]} moments
 */

/**
 * @typedef {object} Moment
 * @property {number} index
 * @property {string} at
 * @property {string} kind "report", "plan", "trouble" or "other".
 * @property {string} text
 * @property {string} who
 */
