using Incubation.Bench;
using Incubation.Records;
using Incubation.Records.Benches;
using Incubation.Records.Clinic;
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
    private readonly BenchStreams streams = new(file);

    /// <summary>Plays a month and writes what is not written yet.</summary>
    /// <exception cref="StartException">The clinic refuses something of it.</exception>
    public void Write(DemoMonth month)
    {
        var number = 0;
        var played = 0L;
        var bench = streams.Load(month.Bench).Aggregate((BenchState?)null, LiveBench.Apply);
        foreach (var day in month.Play())
        {
            foreach (var command in day.Commands)
                if (clinic.Record(command.Events, command.Provenance) is ClinicOutcome.Refused refused)
                    throw new StartException(Say.Of(DemoWords.DemoFileFault, DemoMonthFile.FileName, Say.Day(day.Date),
                        ClinicText.Say(refused)));
            // A day is one transaction: no command's entries are written apart.
            var there = (int)Math.Clamp((bench?.Revision ?? 0) - played, 0, day.Entries.Count);
            if (there < day.Entries.Count)
                bench = streams.Append(bench, [.. day.Entries.Skip(there)]);
            played += day.Entries.Count;
            Tell(++number, month.Days);
        }

        Console.WriteLine();
    }

    private static void Tell(int number, int days)
    {
        if (!Console.IsOutputRedirected)
            Console.Write('\r' + Say.Of(DemoWords.DemoMonthProgress, number, days));
        else if (number == 1)
            Console.Write(Say.Of(DemoWords.DemoMonthWritten, days));
    }
}
