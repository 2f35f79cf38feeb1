using Incubation.Server.Hosting;
using Incubation.Service.Settings;
using Microsoft.Extensions.Configuration;
using NodaTime;

namespace Incubation.Server.Tests.Hosting;

public sealed class ServerArgumentsTest
{
    [Fact]
    public void Read_EveryOption_Understood()
    {
        var folder = Path.GetTempPath();
        var (settings, faults) = Settings("--data", Path.Combine(folder, "a.db"), "--demo", folder, "--autopilot",
            "--pace", "30", "--search-budget=20", "--seed", "7", "--sign-as-it-stands",
            "--demo-readers");

        Assert.Empty(faults);
        Assert.Equal(new ServerSettings(Path.Combine(folder, "a.db"), Path.GetFullPath(folder), true, 30,
            Duration.FromMilliseconds(20), 7, SignAsItStands: true, DemoReaders: true), settings);
    }

    [Fact]
    public void Read_Nothing_UsualValues()
    {
        var (settings, faults) = Settings();

        Assert.Empty(faults);
        Assert.NotNull(settings);
        Assert.Equal((1.0, Duration.FromMilliseconds(50), false, (string?)null),
            (settings.Pace, settings.SearchBudget, settings.Autopilot, settings.Demo));
        Assert.EndsWith("incubation.db", settings.DataFile, StringComparison.Ordinal);
    }

    [Theory]
    [InlineData("--pace 0.5", "0.5")]
    [InlineData("--pace fast", "fast")]
    [InlineData("--pace NaN", "NaN")]
    [InlineData("--pace 1001", "1001")]
    [InlineData("--pace 2", "--demo only")]
    [InlineData("--demo-readers", "--demo only")]
    [InlineData("--autopilot", "--demo only")]
    [InlineData("--search-budget -1", "-1")]
    [InlineData("--search-budget 60000", "60000")]
    [InlineData("--demo /no/such/folder", "/no/such/folder")]
    [InlineData("--data /", "folder")]
    [InlineData("--sped 3", "--sped")]
    [InlineData("--urls", "--urls")]
    [InlineData("stray", "stray")]
    public void Read_WhatCannotBe_SentenceNamesIt(string line, string named)
    {
        var (_, faults) = Settings(line.Split(' '));

        Assert.Contains(faults, fault => fault.Contains(named, StringComparison.Ordinal));
    }

    [Fact]
    public void Read_Help_Asked() => Assert.True(ServerArguments.Read(["--pace", "3", "--help"]).Help);

    private static (ServerSettings?, List<string>) Settings(params string[] line)
    {
        var arguments = ServerArguments.Read(line);
        var faults = new List<string>(arguments.Faults);
        var configuration = new ConfigurationBuilder().AddInMemoryCollection(arguments.Values).Build();
        var settings = ServerSettings.Read(configuration, faults);
        return (settings, faults);
    }
}
