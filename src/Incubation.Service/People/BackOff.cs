using Incubation.Model;
using Incubation.Service.Text;
using NodaTime;
using NodaTime.Extensions;

namespace Incubation.Service.People;

/// <summary>
/// Makes guessing slow: after some wrong secrets each further try must wait, twice as long as the one before. Counted
/// is a name together with where the tries come from, and for strangers the name alone too: fresh cookies and other
/// addresses do not make guessing quicker. Nobody is locked out: every place that has waited is heard, and where a
/// person has signed in before they have a count of their own that strangers do not touch.
/// </summary>
public sealed class BackOff([FromKeyedServices(Sessions.RealTime)] TimeProvider real)
{
    /// <summary>So many wrong ones cost nothing: fingers slip.</summary>
    public const int Free = 4;

    /// <summary>
    /// So many wrong ones of all strangers together cost no stranger anything: more than one person's fingers slip.
    /// </summary>
    public const int FreeOfStrangers = 10;

    /// <summary>
    /// After so many wrong ones one after the other on one side (NIST SP 800-63B) a PIN opens nothing there until it is
    /// set anew. A password waits from then on as long as anything waits: nobody must be able to lock somebody out.
    /// </summary>
    public const int MaxInARow = 100;

    private const string AllPlaces = "";
    private static readonly Duration First = Duration.FromSeconds(5);
    private static readonly Duration Longest = Duration.FromMinutes(15);
    private readonly Lock one = new();
    // Names of people apart from all others: inventing names makes no count of theirs forgotten.
    private readonly GuessCounts ofPeople = new();
    private readonly GuessCounts ofStrangeNames = new();

    private Instant Now => real.GetUtcNow().ToInstant();

    /// <summary>How many counts are kept.</summary>
    public int Size
    {
        get
        {
            lock (one)
                return ofPeople.Size + ofStrangeNames.Size;
        }
    }

    /// <summary>How long a try must still wait; zero where it need not.</summary>
    public Duration Wait(Guess guess)
    {
        lock (one)
            return Of(guess).Find(guess.Key, Now) is { } count && count.NotBefore > Now
                ? count.NotBefore - Now : Duration.Zero;
    }

    /// <summary>
    /// Takes one try before it is judged, as if it were wrong: many at the same moment count as many one after the
    /// other. <see cref="Right"/> gives it back.
    /// </summary>
    /// <returns>How long it must still wait, and no try is taken; or zero.</returns>
    public Duration Take(Guess guess)
    {
        lock (one)
        {
            var (counts, now) = (Of(guess), Now);
            var count = counts.Find(guess.Key, now);
            if (count is not null && count.NotBefore > now)
                return count.NotBefore - now;
            var all = guess.IsStranger ? counts.Find(guess.OfAll, now) : null;
            var delay = DelayBy(guess, all?.Wrong ?? 0);
            // A place that nobody has waited at yet waits first: else each fresh address would bring fresh tries.
            if (count is null && delay > Duration.Zero)
            {
                counts.Keep(guess.Key, new GuessCount(0, now + delay, now, false), now);
                return delay;
            }

            var wrong = (count?.Wrong ?? 0) + 1;
            var wait = Duration.Max(Delay(wrong, Free), DelayBy(guess, (all?.Wrong ?? 0) + 1));
            counts.Keep(guess.Key, new GuessCount(wrong, now + wait, now, false), now);
            if (guess.IsStranger)
                counts.Keep(guess.OfAll, new GuessCount((all?.Wrong ?? 0) + 1, now, now, false), now);
            return Duration.Zero;
        }
    }

    /// <summary>As above, in a sentence: how long it must still wait, or null where the try was taken.</summary>
    public string? MustWait(Guess guess) => Take(guess) is var wait && wait > Duration.Zero ? Sentence(wait) : null;

    /// <summary>Says how long to wait.</summary>
    public static string Sentence(Duration wait) => Say.Of(PeopleWords.SignInMustWait, Say.Length(wait));

    /// <summary>
    /// Whether this is the first try of a wait: it stands in the log, those after it would only flood it.
    /// </summary>
    public bool IsFirstOfWait(Guess guess)
    {
        lock (one)
        {
            var (counts, now) = (Of(guess), Now);
            if (counts.Find(guess.Key, now) is not { } count || count.IsTold)
                return false;
            counts.Keep(guess.Key, count with { IsTold = true }, now);
            return true;
        }
    }

    /// <summary>Notes that the right secret was given: the try did not count.</summary>
    public void Right(Guess guess)
    {
        lock (one)
        {
            var (counts, now) = (Of(guess), Now);
            counts.Forget(guess.Key);
            if (guess.IsStranger && counts.Find(guess.OfAll, now) is { } all)
                counts.Keep(guess.OfAll, all with { Wrong = Math.Max(0, all.Wrong - 1) }, now);
        }
    }

    /// <summary>Forgets a person's counts: the secret was set anew.</summary>
    public void Forget(PersonId person)
    {
        lock (one)
            ofPeople.ForgetAll(person.Value);
    }

    private GuessCounts Of(Guess guess) => guess.IsPerson ? ofPeople : ofStrangeNames;

    /// <summary>What a try must wait whatever was tried from its own place.</summary>
    private static Duration DelayBy(Guess guess, int wrongOfStrangers) =>
        guess.WrongInARow >= MaxInARow ? Longest
        : guess.IsStranger ? Delay(wrongOfStrangers, FreeOfStrangers)
        : Duration.Zero;

    private static Duration Delay(int wrong, int free) =>
        wrong <= free ? Duration.Zero : Duration.Min(First * Math.Pow(2, Math.Min(wrong - free - 1, 20)), Longest);

    /// <summary>A try at a secret, as it is counted.</summary>
    public readonly record struct Guess
    {
        /// <summary>A try for a name from a place.</summary>
        /// <param name="name">As typed; what nobody can be called counts as one name, however long it is.</param>
        /// <param name="place">Where it comes from.</param>
        public Guess(string? name, string place) =>
            Key = new GuessKey(TextId.IsValid(name) ? name! : "", place);

        /// <summary>Whether somebody has this name.</summary>
        public bool IsPerson { get; init; }

        /// <summary>Whether it comes from where the person never signed in: all such tries count together.</summary>
        public bool IsStranger { get; init; }

        /// <summary>Wrong ones that the log tells of on this side since the last right one.</summary>
        public int WrongInARow { get; init; }

        /// <summary>How the secret is shown; strangers' tries count together by it.</summary>
        public string? Way { get; init; }

        internal GuessKey Key { get; }

        internal GuessKey OfAll => new(Key.Name, AllPlaces + Way);
    }
}
