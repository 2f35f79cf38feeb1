using Incubation.Service.Text;
using NodaTime;

namespace Incubation.Service.Tests.Text;

public sealed class SayTest
{
    [Fact]
    public void InClinicTime_ASentenceOfThePlanner_HasClockTimesOfTheClinic() =>
        Assert.Equal(
            "must be loaded by 09:23:03, or 14:00:00",
            Say.InClinicTime("must be loaded by 2026-03-02T08:23:03Z, or 2026-07-01T12:00:00.250Z",
                DateTimeZoneProviders.Tzdb["Europe/Berlin"]));
}
