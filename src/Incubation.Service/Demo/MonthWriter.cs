using Incubation.Bench;
using Incubation.Model;
using Incubation.Records;
using Incubation.Records.Benches;
using Incubation.Records.Clinic;
using Incubation.Records.Log;
using Incubation.Service.Clinic;
using Incubation.Service.Settings;
using Incubation.Service.Text;

namespace Incubation.Service.Demo;

/// <summary>
/// Writes an invented month into the log, as if it had been recorded day by day: the clinic's stream and the bench's,
/// each event with the touch that it had. What an earlier start has written stays: the month is the same every time.
/// </summary>
internal sealed class MonthWriter(DataFile file, ClinicLog clinic)
{
    /// <summary>A transaction holds at most so many entries of the bench.</summary>
    private const int AtATime = 500;

    /// <summary>Plays a month and writes what is not written yet.</summary>
    /// <exception cref="StartException">The clinic refuses something of it.</exception>
    public void Write(DemoMonth month)
    {
        var number = 0;
        var written = 0L;
        foreach (var day in month.Play())
        {
            foreach (var command in day.Commands)
                if (clinic.Record(command.Events, command.Provenance) is ClinicOutcome.Refused refused)
                    throw new StartException(Say.Of(DemoWords.DemoFileFault, DemoMonthFile.FileName, Say.Day(day.Date),
                        ClinicText.Say(refused)));
            written = Append(month.Bench, day.Entries, written);
            Tell(++number, month.Days);
        }

        Console.WriteLine();
    }

    /// <summary>Appends a day's entries, but those that are there; how many there are now.</summary>
    private long Append(BenchId bench, IReadOnlyList<BenchEntry> entries, long before)
    {
        var streams = new BenchStreams(file);
        var there = file.Log.Head(StreamName.OfBench(bench)).Sequence;
        foreach (var part in entries.Skip((int)Math.Clamp(there - before, 0, entries.Count)).Chunk(AtATime))
            there = streams.Append(bench, there, part).Sequence;
        return before + entries.Count;
    }

    private static void Tell(int number, int days)
    {
        if (!Console.IsOutputRedirected)
            Console.Write('\r' + Say.Of(DemoWords.DemoMonthProgress, number, days));
        else if (number == 1)
            Console.Write(Say.Of(DemoWords.DemoMonthWritten, days));
    }
}
