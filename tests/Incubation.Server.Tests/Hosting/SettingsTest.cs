using Incubation.Server.Hosting;
using Incubation.Service.People;
using Incubation.Service.Settings;
using Microsoft.Extensions.Configuration;
using NodaTime;

namespace Incubation.Server.Tests.Hosting;

/// <summary>Settings from a file, from variables and from options; a sentence for each fault.</summary>
public sealed class SettingsTest : IDisposable
{
    private readonly string folder = Directory.CreateTempSubdirectory("incubation-settings-").FullName;
    private readonly List<string> faults = [];

    public void Dispose() => Directory.Delete(folder, recursive: true);

    [Fact]
    public void Add_FileNamed_ItsSettingsGiveWayToVariables()
    {
        var prefix = $"INCUBATION_TEST_{Guid.NewGuid():N}_";
        Environment.SetEnvironmentVariable(prefix + "Incubation__Pace", "3");
        try
        {
            var configuration = new ConfigurationManager();
            configuration.AddEnvironmentVariables(prefix);
            ConfigurationFile.Add(configuration,
                Write("""{ "Incubation": { "Pace": 2, "SearchBudget": 70 } } // ours"""), faults);
            Assert.Empty(faults);
            Assert.Equal(("3", "70"), (configuration["Incubation:Pace"], configuration["Incubation:SearchBudget"]));
        }
        finally
        {
            Environment.SetEnvironmentVariable(prefix + "Incubation__Pace", null);
        }
    }

    [Theory]
    [InlineData("{ \"Incubation\": {\n  \"Data\": \"x\n} }", "not JSON at line 2")]
    [InlineData("[]", "must hold one object")]
    [InlineData("{ \"Incubatoin\": {} }", "Did you mean \"Incubation\"?")]
    [InlineData("{ \"Something\": {} }", "There is no setting \"Something\"")]
    public void Add_FileFaulty_SentenceNamesItAndThePlace(string text, string sentence)
    {
        var path = Write(text);
        ConfigurationFile.Add(new ConfigurationManager(), path, faults);
        var fault = Assert.Single(faults);
        Assert.Contains(path, fault, StringComparison.Ordinal);
        Assert.Contains(sentence, fault, StringComparison.Ordinal);
    }

    [Fact]
    public void Add_FileMissing_SentenceNamesIt()
    {
        var path = Path.Combine(folder, "none.json");
        ConfigurationFile.Add(new ConfigurationManager(), path, faults);
        Assert.Contains(path, Assert.Single(faults), StringComparison.Ordinal);
    }

    [Theory]
    [InlineData("Incubation:Pase", "Did you mean \"Incubation:Pace\"?")]
    [InlineData("Incubation:Whatever", "The settings are: ")]
    public void Check_UnknownSetting_Refused(string key, string sentence)
    {
        var configuration = new ConfigurationManager { [key] = "1" };
        SettingNames.Check(configuration, faults);
        Assert.Contains(sentence, Assert.Single(faults), StringComparison.Ordinal);
    }

    [Fact]
    public void Check_EveryKnownSetting_Accepted()
    {
        var configuration = new ConfigurationManager();
        foreach (var name in SettingNames.Known)
            configuration["Incubation:" + name] = "1";
        SettingNames.Check(configuration, faults);
        Assert.Empty(faults);
    }

    [Theory]
    [InlineData("Logs", "xml", "text or json")]
    [InlineData("Webhook", "pager.test/alarms", "is not an address")]
    [InlineData("Telemetry", "collector:4317", "OTLP")]
    public void ReadService_Faulty_Sentence(string name, string value, string sentence)
    {
        ServiceSettings.Read(new ConfigurationManager { ["Incubation:" + name] = value }, faults);
        Assert.Contains(sentence, Assert.Single(faults), StringComparison.Ordinal);
    }

    [Theory]
    [InlineData("TabletIdle", "0")]
    [InlineData("TabletIdle", "ten")]
    [InlineData("BrowserIdle", "721")]
    public void ReadSessionLengths_Faulty_Sentence(string name, string value)
    {
        SessionLengths.Read(new ConfigurationManager { ["Incubation:" + name] = value }, faults);
        Assert.Contains(name, Assert.Single(faults), StringComparison.Ordinal);
    }

    [Fact]
    public void ReadSessionLengths_Stated_TheOthersAsUsual()
    {
        var lengths = SessionLengths.Read(new ConfigurationManager { ["Incubation:TabletIdle"] = "3" }, faults);
        Assert.Equal(SessionLengths.Usual with { TabletIdle = Duration.FromMinutes(3) }, lengths);
        Assert.Empty(faults);
    }

    [Fact]
    public void ReadService_Usual_TextAndNoTelemetry()
    {
        Assert.Equal(new ServiceSettings(false, null, null), ServiceSettings.Read(new ConfigurationManager(), faults));
        Assert.Equal(
            new ServiceSettings(true, new Uri("http://127.0.0.1:4317"), new Uri("https://pager.test/alarms")),
            ServiceSettings.Read(new ConfigurationManager
            {
                ["Incubation:Logs"] = "json",
                ["Incubation:Telemetry"] = "http://127.0.0.1:4317",
                ["Incubation:Webhook"] = "https://pager.test/alarms"
            }, faults));
        Assert.Empty(faults);
    }

    private string Write(string text)
    {
        var path = Path.Combine(folder, "incubation.json");
        File.WriteAllText(path, text);
        return path;
    }
}
