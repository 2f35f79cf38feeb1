using System.Globalization;
using System.Text;
using System.Text.RegularExpressions;
using Incubation.Service.Labels;
using Microsoft.Playwright;
using Xunit;

namespace Incubation.Browser.Tests;

/// <summary>A tube's code before the camera, where there is one.</summary>
public sealed partial class RackCameraTest(Browser browser, RackCameraTest.Demo demo)
    : IClassFixture<RackCameraTest.Demo>
{
    private const int Width = 640, Height = 480, Module = 10;

    private static CancellationToken Cancel => TestContext.Current.CancellationToken;

    /// <summary>Chromium is given a film in the camera's place, and so is a browser of its own.</summary>
    [Fact]
    public async Task ATube_BeforeTheCamera_StandsOnTheListOnce()
    {
        var film = Path.Combine(Directory.CreateTempSubdirectory("incubation-film-").FullName, "tube.y4m");
        await File.WriteAllBytesAsync(film, FilmOf("T-4711"), Cancel);
        await using (var chromium = await browser.LaunchAsync(["--use-fake-ui-for-media-stream",
            "--use-fake-device-for-media-stream", "--use-file-for-fake-video-capture=" + film]))
        {
            var page = await chromium.NewPageAsync(new BrowserNewPageOptions
            {
                ViewportSize = new ViewportSize { Width = 800, Height = 1280 },
            });
            var rack = await OpenAsync(demo.Server, page);
            await Assertions.Expect(rack.Rows).ToHaveCountAsync(1);
            await Assertions.Expect(rack.Rows.First).ToContainTextAsync("T-4711");
            await Pictures.Keep(page, "rack-camera");
            // Closed, nothing is filmed any more.
            await rack.Press(rack.Sheet.GetByText("Close the camera"));
            await Assertions.Expect(rack.Sheet.Locator("video")).ToBeHiddenAsync();
            await page.WaitForFunctionAsync(
                "() => document.querySelector('.rack-camera video')?.srcObject?.active !== true");
            await Assertions.Expect(rack.Rows).ToHaveCountAsync(1);
        }

        Directory.Delete(Path.GetDirectoryName(film)!, recursive: true);
    }

    [Fact]
    public async Task NoCamera_IsSaidAndTheNumberIsTyped()
    {
        var page = await browser.Open(360, 740);
        var rack = await OpenAsync(demo.Server, page);
        await Assertions.Expect(rack.Sheet.Locator(".rack-camera")).ToContainTextAsync(
            "The camera cannot be used. Allow it in the browser, or type the number.");
        await Pictures.Keep(page, "rack-no-camera-360");
        await rack.Press(rack.Sheet.GetByText("Close the camera"));
        await rack.Sheet.Locator("#rack-number").FillAsync("T-4712");
        await page.Keyboard.PressAsync("Enter");
        await Assertions.Expect(rack.Rows.First).ToContainTextAsync("T-4712");
    }

    /// <summary>What is on a list is on that page alone until it is added, and nothing is.</summary>
    public sealed class Demo() : OneServer(cancel => ServerProcess.StartDemo(cancel, ["R06"]));

    private static async Task<RackScreen> OpenAsync(ServerProcess server, IPage page)
    {
        var rack = new RackScreen(page);
        await rack.OpenBatch(server, "lena");
        await rack.Open();
        await rack.Press(rack.Tile("a:DA"));
        await rack.Press(rack.Sheet.Locator(".rack-camera-open"));
        return rack;
    }

    /// <summary>Ten still frames of a code, as YUV4MPEG2 with 4:2:0 samples.</summary>
    private static byte[] FilmOf(string text)
    {
        var code = SquareCode.Of(text);
        var light = Enumerable.Repeat((byte)235, Width * Height).ToArray();
        var (left, top) = ((Width - (code.Side * Module)) / 2, (Height - (code.Side * Module)) / 2);
        foreach (Match run in Runs().Matches(code.Path))
        {
            var (x, y, length) = (Of(run, 1), Of(run, 2), Of(run, 3));
            for (var row = 0; row < Module; row++)
                Array.Fill(light, (byte)16, ((top + (y * Module) + row) * Width) + left + (x * Module),
                    length * Module);
        }

        var grey = Enumerable.Repeat((byte)128, Width * Height / 2).ToArray();
        byte[] frame = [.. Encoding.ASCII.GetBytes("FRAME\n"), .. light, .. grey];
        return [.. Encoding.ASCII.GetBytes($"YUV4MPEG2 W{Width} H{Height} F10:1 Ip A1:1 C420jpeg\n"),
            .. Enumerable.Repeat(frame, 10).SelectMany(one => one)];
    }

    private static int Of(Match run, int group) => int.Parse(run.Groups[group].Value, CultureInfo.InvariantCulture);

    [GeneratedRegex(@"M(\d+) (\d+)h(\d+)v1h-\d+z", RegexOptions.CultureInvariant)]
    private static partial Regex Runs();
}
