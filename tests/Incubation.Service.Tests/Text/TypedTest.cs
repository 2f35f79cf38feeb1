using CsCheck;
using Incubation.Service.Text;
using NodaTime;

namespace Incubation.Service.Tests.Text;

/// <summary>Numbers and lengths as people type them: understood, or asked, never guessed.</summary>
public sealed class TypedTest
{
    [Theory]
    [InlineData("5", "5")]
    [InlineData("5,0", "5.0")]
    [InlineData("5.0", "5.0")]
    [InlineData(" 0,125 ", "0.125")]
    [InlineData("4.125", "4.125")]
    [InlineData(",5", "0.5")]
    [InlineData("-1,5", "-1.5")]
    [InlineData("−1.5", "-1.5")]
    [InlineData("+3", "3")]
    [InlineData("1000,25", "1000.25")]
    public void Number_WithEitherMark_IsRead(string typed, string printed) =>
        Assert.Equal(printed, TypedNumber.Format(TypedNumber.Read(typed).Value!.Value));

    [Theory]
    [InlineData("1,000.5", "two ways")]
    [InlineData("1.000,5", "two ways")]
    [InlineData("1 000", "two ways")]
    [InlineData("1\u00A0000", "two ways")]
    [InlineData("1'000", "two ways")]
    [InlineData("1.000.000", "two ways")]
    [InlineData("1,000", "Type 1000 or 1.000")]
    [InlineData("٣", "0 to 9")]
    [InlineData("５", "0 to 9")]
    [InlineData("1½", "0 to 9")]
    [InlineData("10²", "0 to 9")]
    [InlineData("1e3", "plain number")]
    [InlineData("1.", "plain number")]
    [InlineData("", "plain number")]
    [InlineData("NaN", "plain number")]
    [InlineData("999999999999999999999999999999999999", "plain number")]
    public void Number_ThatCouldMeanTwo_IsAsked(string typed, string sentence)
    {
        var read = TypedNumber.Read(typed);
        Assert.Null(read.Value);
        Assert.Contains(sentence, read.Fault, StringComparison.Ordinal);
    }

    [Fact]
    public void Number_PrintedAndRead_IsTheSame() =>
        Gen.Select(Gen.Long[-1_000_000_000_000, 1_000_000_000_000], Gen.Int[0, 6]).Sample((digits, scale) =>
        {
            var value = new decimal(Math.Abs(digits % int.MaxValue) is var low ? (int)low : 0, 0, 0, digits < 0,
                (byte)scale);
            Assert.Equal(value, TypedNumber.Read(TypedNumber.Format(value)).Value);
        });

    [Theory]
    [InlineData("3", null)]
    [InlineData("5.0", null)]
    [InlineData("5,0", "= 5.0")]
    [InlineData("1 000", null)]
    public void Number_NotAsTyped_IsShownAsUnderstood(string typed, string? shown) =>
        Assert.Equal(shown, TypedNumber.Understood(typed));

    [Theory]
    [InlineData("20 s", 20)]
    [InlineData("20s", 20)]
    [InlineData("20 sec.", 20)]
    [InlineData("2 min", 120)]
    [InlineData("3 minutes", 180)]
    [InlineData("1 minute", 60)]
    [InlineData("2m", 120)]
    [InlineData("1:30", 90)]
    [InlineData("15:00", 900)]
    [InlineData("24:00:00", 86_400)]
    [InlineData("24 h", 86_400)]
    [InlineData("1 hour", 3_600)]
    [InlineData("1 h 30 min", 5_400)]
    [InlineData("1h30min", 5_400)]
    [InlineData("1.5 h", 5_400)]
    [InlineData("1,5 h", 5_400)]
    [InlineData("2 days", 172_800)]
    [InlineData("PT15M", 900)]
    [InlineData("4", 240)]
    [InlineData("1,5", 90)]
    [InlineData("0", 0)]
    [InlineData("366 d", 366 * 86_400)]
    public void Length_AsPeopleWriteIt_IsRead(string typed, int seconds)
    {
        var read = TypedLength.Read(typed, LengthUnit.Minutes);
        Assert.Null(read.Fault);
        Assert.Equal(Duration.FromSeconds(seconds), read.Length);
    }

    [Theory]
    [InlineData("soon", "like 20 s")]
    [InlineData("", "like 20 s")]
    [InlineData("0:75", "like 20 s")]
    [InlineData("-0:10", "like 20 s")]
    [InlineData("-3", "like 20 s")]
    [InlineData("1 h 30", "like 20 s")]
    [InlineData("30 min 1 h", "like 20 s")]
    [InlineData("5 months", "like 20 s")]
    [InlineData("1:2:3:4", "like 20 s")]
    [InlineData("1 000", "two ways")]
    [InlineData("1,000 s", "Type 1000 or 1.000")]
    [InlineData("٣ min", "0 to 9")]
    [InlineData("½ h", "0 to 9")]
    [InlineData("1.5 s", "whole seconds")]
    [InlineData("PT0.5S", "whole seconds")]
    [InlineData("367 d", "at most a year")]
    [InlineData("99999:59:59", "at most a year")]
    [InlineData("99999999999999 h", "at most a year")]
    public void Length_ThatCouldMeanTwo_IsAsked(string typed, string sentence)
    {
        var read = TypedLength.Read(typed, LengthUnit.Minutes);
        Assert.Null(read.Length);
        Assert.Contains(sentence, read.Fault, StringComparison.Ordinal);
    }

    [Theory]
    [InlineData(LengthUnit.Seconds, "= 3 s")]
    [InlineData(LengthUnit.Minutes, "= 3 min")]
    [InlineData(LengthUnit.Hours, "= 3 h")]
    public void Length_PlainNumber_CountsInTheFieldsUnit(LengthUnit unit, string shown) =>
        Assert.Equal(shown, TypedLength.Understood("3", unit));

    [Fact]
    public void Length_PlainNumberWhereNoneIsTaken_IsAsked() => Assert.NotNull(TypedLength.Read("3", null).Fault);

    /// <summary>A time of day is the one nearest to now, so its day is said with it.</summary>
    [Theory]
    [InlineData("23:30", "= today at 23:30")]
    [InlineData("00:10", "= tomorrow at 00:10")]
    [InlineData("12:00", "= today at 12:00")]
    [InlineData("11:00:00", "= tomorrow at 11:00")]
    [InlineData("half past", null)]
    [InlineData("", null)]
    public void Time_IsShownWithItsDay(string typed, string? shown) => Assert.Equal(shown,
        TimeOfDay.Understood(typed, Instant.FromUtc(2026, 11, 3, 22, 50), DateTimeZoneProviders.Tzdb["Europe/Berlin"]));

    [Fact]
    public void Length_PrintedAndRead_IsTheSame() =>
        Gen.Select(Gen.Int[0, 366 * 86_400], Gen.Enum<LengthUnit>()).Sample((seconds, unit) =>
        {
            var length = Duration.FromSeconds(seconds);
            Assert.Equal(length, TypedLength.Read(TypedLength.Format(length), unit).Length);
            Assert.Equal(length, TypedLength.Read(TypedLength.Write(length), unit).Length);
        });

    [Fact]
    public void Anything_Read_NeverThrowsAndIsEitherUnderstoodOrAsked() =>
        Gen.String.Sample(text =>
        {
            Assert.NotEqual(TypedNumber.Read(text).Value is null, TypedNumber.Read(text).Fault is null);
            var length = TypedLength.Read(text, LengthUnit.Seconds);
            Assert.NotEqual(length.Length is null, length.Fault is null);
        });
}
