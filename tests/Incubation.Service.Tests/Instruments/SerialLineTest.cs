using System.Diagnostics;
using System.IO.Ports;
using System.Text;
using Incubation.Bench;
using Incubation.Clinic.Instruments;
using Incubation.Service.Demo;
using Incubation.Service.Tests.Support;

namespace Incubation.Service.Tests.Instruments;

/// <summary>A reader on a pair of serial lines that socat keeps: what one end says, the other hears.</summary>
public sealed class SerialLineTest : IDisposable
{
    private readonly string folder = Directory.CreateTempSubdirectory("incubation-serial-").FullName;
    private Process? pair;

    private static CancellationToken Cancel => TestContext.Current.CancellationToken;

    public void Dispose()
    {
        if (pair is { HasExited: false })
            pair.Kill();
        pair?.Dispose();
        Directory.Delete(folder, recursive: true);
    }

    [Fact]
    public async Task Line_ABatchOverASerialLine_HasItsResultsWithoutAKeyPressed()
    {
        Assert.SkipUnless(IsThere("socat"), "socat is not installed: no pair of serial lines can be had.");
        var (ours, theirs) = await PairAsync();
        await using var house = await WireHouse.OpenAsync(link => link with
        {
            Transport = new WireTransport.Serial(ours, 115_200),
        });
        await house.ListenAsync();
        await house.UntilOpen(WireHouse.Reader);
        using var port = new SerialPort(theirs, 115_200);
        port.Open();
        await using var reader = new DemoReader(port.BaseStream, TimeProvider.System);

        for (var cartridge = 1; cartridge <= 3; cartridge++)
        {
            var request = await house.ReadAsync($"SP-{cartridge}");
            Assert.True(await reader.SendAsync(Encoding.UTF8.GetBytes(WireHouse.Message($"SP-{cartridge}",
                $"{cartridge}.50", sent: $"2026030209000{cartridge}")), Cancel));
            await house.UntilJudged(cartridge);
            Assert.Equal(new ReadResult.Measured($"{cartridge}.50", "mg/L"), house.Of(request).Result);
            await house.ClearAsync(request);
        }

        Assert.Empty(house.State.Questions);
    }

    [Fact]
    public async Task Line_ThatIsNotThere_IsSaidAndTriedAgain()
    {
        await using var house = await WireHouse.OpenAsync(link => link with
        {
            Transport = new WireTransport.Serial("/dev/incubation-no-such-line", 9600),
        });
        await house.ListenAsync();
        while (house.Book.Of(WireHouse.Reader).Trouble is null)
            await Task.Yield();
        Assert.Contains("cannot be used", house.Book.Of(WireHouse.Reader).Trouble, StringComparison.Ordinal);
    }

    private static bool IsThere(string program) => (Environment.GetEnvironmentVariable("PATH") ?? "")
        .Split(Path.PathSeparator).Any(place => File.Exists(Path.Combine(place, program)));

    /// <summary>Two lines that are one: their devices, once both are there.</summary>
    private async Task<(string Ours, string Theirs)> PairAsync()
    {
        var (one, two) = (Path.Combine(folder, "one"), Path.Combine(folder, "two"));
        pair = Process.Start(new ProcessStartInfo("socat",
            [$"pty,raw,echo=0,link={one}", $"pty,raw,echo=0,link={two}"]));
        while (!File.Exists(one) || !File.Exists(two))
        {
            Cancel.ThrowIfCancellationRequested();
            await Task.Yield();
        }

        return (File.ResolveLinkTarget(one, returnFinalTarget: true)!.FullName,
            File.ResolveLinkTarget(two, returnFinalTarget: true)!.FullName);
    }
}
