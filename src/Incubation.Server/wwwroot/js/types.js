// The shapes that the server sends and takes, generated from its types of the same names, which say what each
// member means. A test fails while this file differs from them, and says how to write it again.
// Instants are ISO 8601 texts in UTC; what counts with them turns them into milliseconds since 1970 first.

export {};

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
 * @property {string} escalatesAt
 * @property {boolean} acknowledged
 * @property {boolean} passed
 * @property {string} request
 * @property {string[]} actions
 * @property {number|null} slot
 * @property {number|null} reader
 * @property {string|null} reason
 * @property {string|null} beginBy
 * @property {boolean} line
 */

/**
 * @typedef {object} AloneAlarm
 * @property {"window-in-danger"|"window-closed"|"mixture-in-danger"|"mixture-too-old"} code
 * @property {"low"|"medium"|"high"} priority
 * @property {string} word
 * @property {string} title
 * @property {string} text
 * @property {string[]} actions
 */

/**
 * @typedef {object} AloneAssay
 * @property {number} mix
 * @property {number} mixToLoad
 * @property {number} load
 * @property {number} incubation
 * @property {number} readWindow
 * @property {number} move
 * @property {number} read
 * @property {number} clear
 * @property {number} mixShortest
 * @property {number} loadShortest
 * @property {AloneTexts|null} texts
 */

/**
 * @typedef {object} AloneCard
 * @property {number} reader
 * @property {string|null} lot
 * @property {boolean} inDoubt
 */

/**
 * @typedef {object} AloneCartridge
 * @property {string} request
 * @property {"mixed"|"reacting"|"reading"|"read"} phase
 * @property {string|null} from
 * @property {string|null} to
 * @property {number|null} slot
 * @property {number|null} reader
 * @property {boolean} mustGo
 */

/**
 * @typedef {object} AloneClosing
 * @property {"hands"|"slot"|"reader"|"incubator"} resource
 * @property {number|null} number
 * @property {string} from
 * @property {string} to
 */

/**
 * @typedef {object} AloneHands
 * @property {number} hands
 * @property {string|null} lastReport
 * @property {string|null} device
 * @property {string|null} silent
 */

/**
 * @typedef {object} AlonePatience
 * @property {number} mix
 * @property {number} load
 * @property {number} move
 * @property {number} clear
 * @property {number} discard
 * @property {number} cardChange
 */

/**
 * @typedef {object} AloneQuestion
 * @property {"mix"|"load"|"move"|"clear"|"discard"} kind
 * @property {string} title
 * @property {string} text
 * @property {string} placeText
 * @property {AnswerSnapshot[]} answers
 */

/**
 * @typedef {object} AloneRequest
 * @property {string} request
 * @property {string} specimen
 * @property {number} assay
 * @property {string} lot
 * @property {string} ready
 * @property {string|null} loadBy
 * @property {string[]} after
 * @property {boolean} control
 * @property {boolean} urgent
 * @property {boolean} repeatLeft
 */

/**
 * @typedef {object} AloneSnapshot
 * @property {string|null} startedAt
 * @property {number} promptAhead
 * @property {number} cardChange
 * @property {number} readGuard
 * @property {number} slots
 * @property {number} readers
 * @property {AloneHands[]} hands
 * @property {AloneAssay[]} assays
 * @property {AloneRequest[]} requests
 * @property {AloneCartridge[]} cartridges
 * @property {AloneStep[]} steps
 * @property {AloneClosing[]} closings
 * @property {AloneCard[]} cards
 * @property {string[]} lost
 * @property {AlonePatience} patience
 * @property {AloneUnknown[]} notKnown
 * @property {AloneAlarm[]} alarms
 * @property {AloneQuestion[]} questions
 * @property {string[]} slotNames
 * @property {string[]} readerNames
 */

/**
 * @typedef {object} AloneStep
 * @property {"mix"|"load"|"move"|"clear"|"card-change"|"discard"} kind
 * @property {string|null} request
 * @property {number} hands
 * @property {number|null} slot
 * @property {number|null} reader
 * @property {string|null} lot
 * @property {string} start
 * @property {string} end
 * @property {string} title
 */

/**
 * @typedef {object} AloneTexts
 * @property {string|null} mix
 * @property {string|null} load
 * @property {string|null} move
 * @property {string|null} clear
 */

/**
 * @typedef {object} AloneUnknown
 * @property {number} hands
 * @property {"mix"|"load"|"move"|"clear"|"discard"} kind
 * @property {string} request
 * @property {number|null} slot
 * @property {number|null} reader
 * @property {string} begun
 * @property {AloneStep[]} planned
 */

/**
 * @typedef {object} AnswerSnapshot
 * @property {string} answer
 * @property {string} text
 * @property {number[]} slots
 * @property {boolean} takesTime
 * @property {boolean} takesLot
 */

/**
 * @typedef {object} BatchMoments
 * @property {string} zone
 * @property {string} begins
 * @property {string} ends
 * @property {Moment[]} moments
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
 * @property {string|null} urgentSince
 * @property {number} lateNow
 * @property {number|null} perHour
 * @property {IdleSnapshot|null} idle
 * @property {string|null} startedAt
 */

/**
 * @typedef {object} BenchSnapshot
 * @property {string} bench
 * @property {string} name
 * @property {number} revision
 * @property {string} serverTime
 * @property {number} rate
 * @property {string} zone
 * @property {BatchSnapshot} batch
 * @property {OfferSnapshot[]} offers
 * @property {UpcomingSnapshot[]} upcoming
 * @property {SlotSnapshot[]} slots
 * @property {ReaderSnapshot[]} readers
 * @property {AlarmSnapshot[]} alarms
 * @property {MissingResultSnapshot[]} missingResults
 * @property {UndoSnapshot|null} undo
 * @property {string[]} lots
 * @property {string} lanes
 * @property {UncheckedSnapshot[]} unchecked
 * @property {QuestionSnapshot[]} questions
 * @property {UndoOfDevice[]} undos
 * @property {ReportSnapshot[]} reports
 * @property {LossSnapshot[]} losses
 * @property {RepeatSnapshot[]} repeats
 * @property {NotPlannedSnapshot[]} notPlanned
 * @property {ResourcesSnapshot} means
 * @property {LabelSnapshot[]} labels
 * @property {UrgentSnapshot[]} urgent
 * @property {TellingsSnapshot[]} tellings
 * @property {AloneSnapshot|null} alone
 * @property {number} wiredResults
 * @property {"off"|"asked"|"demanded"} labelScans
 * @property {number} form
 */

/**
 * @typedef {object} BoxAnswer
 * @property {boolean} isRight
 * @property {string} sentence
 */

/**
 * @typedef {object} CommandAnswer
 * @property {boolean} recorded
 * @property {string|null} sentence
 * @property {number} revision
 * @property {boolean} signIn
 * @property {"recorded"|"refused"|"not-now"} kind
 * @property {number|null} retryAfter
 */

/**
 * @typedef {object} DaySnapshot
 * @property {string} serverTime
 * @property {number} clearedLastHour
 * @property {number} plannedLastHour
 * @property {number} results
 * @property {number|null} medianToResult
 * @property {number|null} ninetiethToResult
 * @property {number} readInWindow
 * @property {number} reads
 * @property {number} discarded
 * @property {number} urgentWaiting
 * @property {string|null} urgentSince
 * @property {number} late
 * @property {string|null} finish
 * @property {number} open
 */

/**
 * @typedef {object} IdleSnapshot
 * @property {string} title
 * @property {string} detail
 * @property {string|null} link
 * @property {string|null} linkText
 * @property {boolean} blocked
 */

/**
 * @typedef {object} IncubatorSnapshot
 * @property {number|null} set
 * @property {number|null} tolerance
 * @property {number|null} shows
 * @property {string|null} measuredAt
 * @property {string|null} outsideSince
 */

/**
 * @typedef {object} LabelSnapshot
 * @property {string} code
 * @property {string} request
 * @property {string} specimen
 * @property {string} assay
 * @property {boolean} over
 */

/**
 * @typedef {object} LossSnapshot
 * @property {string} request
 * @property {string} specimen
 * @property {string} cause
 * @property {string} text
 * @property {string|null} by
 * @property {string} since
 * @property {string} reason
 * @property {boolean} repeatLeft
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
 * @typedef {object} Moment
 * @property {number} index
 * @property {string} at
 * @property {"report"|"plan"|"trouble"|"other"} kind
 * @property {string} text
 * @property {string} who
 */

/**
 * @typedef {object} NotPlannedSnapshot
 * @property {string} request
 * @property {string} specimen
 * @property {string} cause
 * @property {string} text
 */

/**
 * @typedef {object} OfferSnapshot
 * @property {string} key
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
 * @property {string|null} reason
 * @property {string|null} instruction
 * @property {string|null} ifNotBegun
 */

/**
 * @typedef {object} OutOfUseSnapshot
 * @property {"hands"|"slot"|"reader"|"incubator"} resource
 * @property {number|null} number
 * @property {string} from
 * @property {string|null} to
 * @property {string|null} why
 */

/**
 * @typedef {object} PinAnswer
 * @property {boolean} done
 * @property {string|null} sentence
 * @property {WhoSnapshot|null} who
 */

/**
 * @typedef {object} QuestionSnapshot
 * @property {string} id
 * @property {string} kind
 * @property {string} title
 * @property {string} text
 * @property {string} since
 * @property {string|null} report
 * @property {string|null} request
 * @property {string|null} specimen
 * @property {string|null} other
 * @property {string|null} otherSpecimen
 * @property {number|null} slot
 * @property {number|null} reader
 * @property {AnswerSnapshot[]} answers
 */

/**
 * @typedef {object} ReaderSnapshot
 * @property {number} reader
 * @property {string|null} card
 * @property {string|null} request
 * @property {string|null} specimen
 * @property {string|null} readyAt
 * @property {string[]} marks
 * @property {string|null} cardDoubt
 * @property {string|null} cardBelieved
 * @property {OutOfUseSnapshot|null} outOfUse
 * @property {string|null} notKnown
 */

/**
 * @typedef {object} RepeatSnapshot
 * @property {string} request
 * @property {string} specimen
 * @property {string} assay
 */

/**
 * @typedef {object} ReportSnapshot
 * @property {string} report
 * @property {string} kind
 * @property {string} text
 * @property {string} at
 * @property {string} device
 * @property {string} reasonFrom
 * @property {string|null} request
 * @property {string|null} specimen
 * @property {number|null} slot
 * @property {number|null} reader
 * @property {string|null} lot
 */

/**
 * @typedef {object} ResourcesSnapshot
 * @property {number} hands
 * @property {OutOfUseSnapshot[]} outOfUse
 * @property {boolean} intakePaused
 * @property {IncubatorSnapshot|null} incubator
 */

/**
 * @typedef {object} ScreenCommand
 * @property {string} id
 * @property {string} kind
 * @property {string} at
 * @property {boolean} stated
 * @property {string} device
 * @property {string|null} [request]
 * @property {number|null} [slot]
 * @property {number|null} [reader]
 * @property {string|null} [lot]
 * @property {number|null} [hands]
 * @property {string|null} [reason]
 * @property {string|null} [words]
 * @property {string|null} [value]
 * @property {string|null} [noValue]
 * @property {boolean|null} [inTime]
 * @property {string|null} [alarm]
 * @property {string|null} [of]
 * @property {string|null} [person]
 * @property {boolean} [locked]
 * @property {string|null} [then]
 * @property {string[]|null} [with]
 * @property {string|null} [question]
 * @property {string|null} [answer]
 * @property {string|null} [resource]
 * @property {number|null} [number]
 * @property {number|null} [minutes]
 * @property {boolean|null} [anyway]
 * @property {number|null} [celsius]
 * @property {number|null} [tolerance]
 * @property {TemperatureRuleIn[]|null} [rules]
 * @property {string|null} [shown]
 * @property {boolean|null} [readBack]
 * @property {string|null} [assay]
 * @property {ScreenCommand[]|null} [told]
 * @property {string|null} [why]
 * @property {string|null} [scan]
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
 * @property {string[]} marks
 * @property {OutOfUseSnapshot|null} outOfUse
 * @property {string|null} beginBy
 * @property {string|null} act
 * @property {string|null} notKnown
 */

/**
 * @typedef {object} TabletPerson
 * @property {string} id
 * @property {string} name
 */

/**
 * @typedef {object} TellingSnapshot
 * @property {string} what
 * @property {number[]|null} slots
 * @property {number[]|null} readers
 * @property {string|null} earliest
 * @property {string|null} notSo
 * @property {string|null} of
 * @property {number|null} liesIn
 * @property {number|null} hands
 * @property {string|null} question
 * @property {string|null} reason
 * @property {number|null} mixedBefore
 * @property {string|null} inTimeFrom
 */

/**
 * @typedef {object} TellingsSnapshot
 * @property {string} request
 * @property {number|null} slot
 * @property {number|null} reader
 * @property {TellingSnapshot[]} can
 */

/**
 * @typedef {object} TemperatureRuleIn
 * @property {string|null} [assay]
 * @property {number|null} [minutes]
 */

/**
 * @typedef {object} UncheckedSnapshot
 * @property {string} device
 * @property {number} reports
 */

/**
 * @typedef {object} UndoOfDevice
 * @property {string} device
 * @property {string} report
 * @property {string} text
 * @property {ReportSnapshot[]} with
 */

/**
 * @typedef {object} UndoSnapshot
 * @property {string} report
 * @property {string} device
 * @property {string} text
 */

/**
 * @typedef {object} UpcomingSnapshot
 * @property {string} title
 * @property {string} start
 * @property {number|null} spareSeconds
 * @property {boolean} urgent
 * @property {string|null} request
 * @property {"mix"|"load"|"move"|"clear"|"card-change"|"discard"} kind
 * @property {number|null} slot
 * @property {number|null} reader
 * @property {string|null} lot
 */

/**
 * @typedef {object} UrgentSnapshot
 * @property {string} request
 * @property {string} text
 */

/**
 * @typedef {object} WhoSnapshot
 * @property {"person"|"tablet"|"wall"|"program"} kind
 * @property {string|null} person
 * @property {string|null} name
 * @property {string} device
 * @property {boolean} canSwitch
 */
