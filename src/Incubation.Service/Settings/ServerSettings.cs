using System.Globalization;
using Incubation.Service.Commands;
using NodaTime;

namespace Incubation.Service.Settings;

/// <summary>How this server was asked to run, checked.</summary>
/// <param name="DataFile">Full path of the data file.</param>
/// <param name="Demo">Folder of an invented clinic to seed an empty data file with, or null.</param>
/// <param name="Autopilot">Whether a virtual aide does the tapping; never without a demo.</param>
/// <param name="Pace">Seconds of the server's time in one real second, from 1 to <see cref="MaximumPace"/>; 1 but in a
/// demo.</param>
/// <param name="SearchBudget">How long a search for a better plan may take after each change, in real time.</param>
/// <param name="Seed">Seed of the autopilot's step lengths.</param>
/// <param name="NewCodeFor">Who is to be given a new code at the console, or null.</param>
/// <param name="RecordKey">Full path of the record's key, or null: beside the data file.</param>
/// <param name="Month">Whether a demo that is begun anew gets an invented month as its past.</param>
/// <param name="CommandRate">Commands that one sender may have recorded a second, on average.</param>
/// <param name="SignAsItStands">Whether a data file with events and without signatures is signed as it stands.</param>
/// <param name="DemoReaders">Whether a demo's readers send invented results by wire; never without a demo.</param>
public sealed record ServerSettings(string DataFile, string? Demo, bool Autopilot, double Pace, Duration SearchBudget,
    ulong Seed, string? NewCodeFor = null, string? RecordKey = null, bool Month = false,
    double CommandRate = WriteBudget.UsualRate, bool SignAsItStands = false, bool DemoReaders = false)
{
    /// <summary>Section of the configuration that holds these settings.</summary>
    public const string Section = "Incubation";

    /// <summary>The fastest that a demo may run.</summary>
    public const double MaximumPace = 1000;

    /// <summary>The longest search after a change, in milliseconds: a tablet waits for it.</summary>
    public const int MaximumSearchMilliseconds = 5000;

    private const int DefaultSearchMilliseconds = 50;

    /// <summary>Fewer commands than this would keep hands waiting.</summary>
    private const double LeastRate = 0.5;

    /// <summary>The folder beside the data for what belongs to it: keys, the clock's line.</summary>
    public string DataFolder => Path.GetDirectoryName(DataFile)!;

    /// <summary>Reads the settings; every fault is a sentence in <paramref name="faults"/>.</summary>
    public static ServerSettings? Read(IConfiguration configuration, ICollection<string> faults)
    {
        var section = configuration.GetSection(Section);
        var before = faults.Count;
        var dataFile = ReadDataFile(section["Data"], faults);
        var demo = ReadDemo(section["Demo"], faults);
        var pace = ReadNumber(section["Pace"], 1, 1, MaximumPace, SettingsWords.PaceFault, faults);
        // A clock that runs faster, or goes on from another time, is a demo's alone.
        if (pace > 1 && demo is null)
            faults.Add(Say(SettingsWords.PaceWithoutDemo, section["Pace"]));
        var budget = ReadNumber(section["SearchBudget"], DefaultSearchMilliseconds, 0, MaximumSearchMilliseconds,
            SettingsWords.SearchBudgetFault, faults);
        var seed = ReadNumber(section["Seed"], 1, 0, int.MaxValue, SettingsWords.SeedFault, faults);
        var autopilot = ReadFlag(section["Autopilot"], SettingsWords.AutopilotFault, faults);
        var rate = ReadNumber(section["CommandRate"], WriteBudget.UsualRate, LeastRate, WriteBudget.MaximumRate,
            SettingsWords.CommandRateFault, faults);
        var month = ReadFlag(section["Month"], SettingsWords.MonthFault, faults);
        var unsigned = ReadFlag(section["SignAsItStands"], SettingsWords.SignAsItStandsFault, faults);
        var readers = ReadFlag(section["DemoReaders"], SettingsWords.DemoReadersFault, faults);
        // What they send and tap is invented: no clinic's record may take it in.
        if (readers && demo is null)
            faults.Add(SettingsWords.DemoReadersWithoutDemo);
        if (autopilot && demo is null)
            faults.Add(SettingsWords.AutopilotWithoutDemo);
        return faults.Count == before
            ? new ServerSettings(dataFile, demo, autopilot, pace, Duration.FromMilliseconds(budget), (ulong)seed,
                section["NewCodeFor"], string.IsNullOrWhiteSpace(section["RecordKey"])
                ? null : Path.GetFullPath(section["RecordKey"]!), month, rate, unsigned, readers)
            : null;
    }

    private static string ReadDataFile(string? text, ICollection<string> faults)
    {
        try
        {
            var path = string.IsNullOrWhiteSpace(text) ? DefaultDataFile() : text;
            var full = Path.GetFullPath(path);
            if (Directory.Exists(full))
                faults.Add(Say(SettingsWords.DataIsFolder, full));
            return full;
        }
        catch (Exception fault) when (fault is ArgumentException or NotSupportedException or PathTooLongException)
        {
            faults.Add(Say(SettingsWords.DataUnreadable, text));
            return "";
        }
    }

    private static string DefaultDataFile()
    {
        var home = Environment.GetFolderPath(Environment.SpecialFolder.LocalApplicationData,
            Environment.SpecialFolderOption.DoNotVerify);
        return Path.Combine(home.Length > 0 ? home : AppContext.BaseDirectory, "incubation", "incubation.db");
    }

    private static string? ReadDemo(string? text, ICollection<string> faults)
    {
        if (string.IsNullOrWhiteSpace(text))
            return null;
        var full = Path.GetFullPath(text);
        if (!Directory.Exists(full))
            faults.Add(Say(SettingsWords.DemoMissing, full));
        return full;
    }

    private static double ReadNumber(string? text, double absent, double least, double most, string sentence,
        ICollection<string> faults)
    {
        if (string.IsNullOrWhiteSpace(text))
            return absent;
        if (double.TryParse(text, NumberStyles.Float, CultureInfo.InvariantCulture, out var number) && number >= least
            && number <= most)
            return number;
        faults.Add(Say(sentence, text));
        return absent;
    }

    private static bool ReadFlag(string? text, string sentence, ICollection<string> faults)
    {
        if (string.IsNullOrWhiteSpace(text))
            return false;
        if (bool.TryParse(text, out var flag))
            return flag;
        faults.Add(Say(sentence, text));
        return false;
    }

    private static string Say(string sentence, string? thing) =>
        string.Format(CultureInfo.CurrentCulture, sentence, thing);
}
