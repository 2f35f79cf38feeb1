using Incubation.Server.Tests.Doors;
using System.Runtime.CompilerServices;
using System.Text.Json;
using Incubation.Bench;
using Incubation.Clinic.People;
using Incubation.Records.Benches;
using Incubation.Service.Commands;
using Incubation.Service.Tests.Support;
using NodaTime;

namespace Incubation.Server.Tests.Hubs;

/// <summary>
/// Commands as a browser keeps them in its outbox until they are answered, perhaps for days and over an upgrade: each
/// is read to exactly the command that it was. <c>Samples/outbox-1.json</c> holds what a browser stores,
/// <c>outbox-1.commands.jsonl</c> beside it what each entry means.
/// </summary>
public sealed class CommandSamplesTest
{
    private static readonly Instant Arrived = Instant.FromUtc(2026, 3, 2, 10, 0);

    [Fact]
    public void Outbox_StoredByABrowser_IsReadToTheSameCommands() => Assert.Equal(
        File.ReadAllLines(Path.Combine(AppContext.BaseDirectory, "Samples", "outbox-1.commands.jsonl")),
        Stored().Select(Meaning));

    [Fact]
    public void Outbox_Samples_HaveEveryCommandThatCanBeReadAtAll()
    {
        var read = Stored().Select(flat => Read(flat).Command.GetType()).ToHashSet();
        var outside = CommandJson.Kinds.Values.Where(type =>
            CommandRightsTest.NeededOf(type) is not null && type != typeof(BenchCommand.AddRequests)
                && type != typeof(BenchCommand.ExpectProbe) && type != typeof(BenchCommand.AskForLabels));
        Assert.Equal(outside.Select(type => type.Name).Order(), read.Select(type => type.Name).Order());
    }

    /// <summary>For a new sample; the one of an earlier version stays as it is.</summary>
    [Fact(Explicit = true)]
    public void Outbox_WrittenAnew() => Assert.True(WriteAnew());

    [Fact]
    public void Written_ByAProgramThatTaps_IsReadToTheSameCommand()
    {
        foreach (var envelope in Stored().Select(Read).Where(envelope => IsTappedByPrograms(envelope.Command)))
        {
            var flat = CommandWriter.Write(envelope.Command, envelope.Provenance.At, "autopilot");
            var read = Read(flat);
            Assert.Equal(CommandJson.Write(envelope.Command), CommandJson.Write(read.Command));
            Assert.Equal(envelope.Provenance.At, read.Provenance.At);
        }
    }

    /// <summary>Screens never drop a report, and may refuse an instruction: they know which is which.</summary>
    [Fact]
    public void Kinds_ThatScreensTakeForReports_AreTheReports()
    {
        var module = File.ReadAllText(Path.Combine(ServerFactory.Checkout(), "src", "Incubation.Server", "wwwroot",
            "js", "reports.js"));
        var list = module[module.IndexOf('[', StringComparison.Ordinal)..module.IndexOf(']', StringComparison.Ordinal)];
        var ofScreens = list.Split('"').Where((_, part) => part % 2 == 1).Order(StringComparer.Ordinal);
        var reports = Stored().Where(flat => Read(flat).Command is BenchCommand.Report).Select(flat => flat.Kind)
            .Distinct().Order(StringComparer.Ordinal);
        Assert.Equal(reports, ofScreens);
    }

    private static bool IsTappedByPrograms(BenchCommand command)
    {
        try
        {
            return CommandWriter.Write(command, Arrived, "autopilot") is not null;
        }
        catch (ArgumentException)
        {
            return false;
        }
    }

    private static List<ScreenCommand> Stored() => JsonSerializer.Deserialize<List<ScreenCommand>>(
        File.ReadAllText(Path.Combine(AppContext.BaseDirectory, "Samples", "outbox-1.json")),
            JsonSerializerOptions.Web)!;

    private static CommandEnvelope Read(ScreenCommand flat)
    {
        var reading = CommandReader.Read(flat, Arrived, AnAide.Lena, PeopleState.Empty);
        return reading is CommandReading.Readable readable
            ? readable.Envelope
            : throw new InvalidOperationException($"{flat.Kind}: {((CommandReading.Unreadable)reading).Sentence}");
    }

    private static string Meaning(ScreenCommand flat) => CommandJson.Write(Read(flat));

    private static bool WriteAnew([CallerFilePath] string here = "")
    {
        var path = Path.Combine(Path.GetDirectoryName(here)!, "..", "Samples", "outbox-1.commands.jsonl");
        File.WriteAllLines(path, Stored().Select(Meaning));
        return File.Exists(path);
    }
}
